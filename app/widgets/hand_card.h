#pragma once

#include "planner/heat_plan.h"

#include <QFrame>

class QLabel;
class QPushButton;
class QShortcut;

namespace stripwright {

/// One thing for the hands to do: the sentence, how long, what the plate does meanwhile, what happens if it
/// is not done.
class HandCardView : public QFrame {
    Q_OBJECT
public:
    explicit HandCardView(QWidget* parent = nullptr);

    /// The card that is up, or the one that comes next; `inS` until it starts (<= 0: it is up), `leftS` until
    /// it is over.
    /// `waits`: the plan's time stands still, and the card's with it.
    void showCard(const HandCard& card, double inS, double leftS, bool waits = false);
    /// The lift card once it is up: stays until the hands say that the strip is off. `assumed`: where the
    /// strip is taken to be until then.
    void showLift(const HandCard& card, double leftS, const QString& assumed);
    /// Of the card that is shown: its hands are asked about the solder at this site, L and N answer as the
    /// buttons do. `saidLiquid`: they have said so already, and may take it back. showCard() ends it.
    void askAboutSolder(int site, bool saidLiquid);
    /// Of the card that is shown: the hands are asked to say when it is done; `saidS`: they have, then.
    void askWhetherDone(std::optional<double> saidS);
    bool askedFor() const; ///< The card waits for an answer.
    void answer();         ///< As its button does; nothing if none waits.
    void showNothing(const QString& text);
    void sayToo(const QString& text); ///< Under what is shown, until the next is shown.

signals:
    void done(const std::string& card);
    void solderSaid(int site, bool liquid);

private:
    void endAskingAboutSolder();
    QLabel *when_, *what_, *plate_, *otherwise_, *assumed_, *countdown_, *countdownMore_;
    QPushButton *done_, *liquid_, *notYet_;
    QLabel* solder_;
    QShortcut *liquidKey_, *notYetKey_;
    std::string card_;
    int solderSite_ = 0; // 0: not asked about
};

} // namespace stripwright
