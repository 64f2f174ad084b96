#pragma once

#include "planner/heat_plan.h"

#include <QElapsedTimer>
#include <QFrame>

class QLabel;
class QPushButton;
class QShortcut;

namespace stripwright {

/// What the hands are asked to answer on a card.
struct CardAsks {
    bool whetherDone = false;
    std::optional<double> saidDoneS; ///< They have said so, then.
    /// They are asked about the solder there, L and N answer as the buttons do; 0: not asked.
    int solderSite = 0;
    bool saidLiquid = false; ///< They have said so already, and may take it back.
};

/// One thing for the hands to do: the sentence, how long, what the plate does meanwhile, what happens if it
/// is not done. No button takes the keys by a click, and none that goes away leaves them to the next field.
class HandCardView : public QFrame {
    Q_OBJECT
public:
    explicit HandCardView(QWidget* parent = nullptr);

    /// The card that is up, or the one that comes next; `inS` until it starts (<= 0: it is up), `leftS` until
    /// it is over.
    /// `waits`: the plan's time stands still, and the card's with it.
    void showCard(const HandCard& card, double inS, double leftS, bool waits = false,
                  const CardAsks& asks = {});
    /// The lift card once it is up: stays until the hands say that the strip is off. `assumed`: where the
    /// strip is taken to be until then.
    void showLift(const HandCard& card, double leftS, const QString& assumed);
    /// From what is shown next on, wherever that asks for nothing: whether an earlier card is done, though
    /// its time is over; none: no more.
    void askLate(std::optional<HandCard> passed) { late_ = std::move(passed); }
    bool askedFor() const; ///< A card waits for an answer.
    void answer();         ///< As its button does; nothing if none waits.
    void showNothing(const QString& text);
    void sayToo(const QString& text); ///< Under what is shown, until the next is shown.

signals:
    void done(const std::string& card);
    void solderSaid(int site, bool liquid);

private:
    void ask(const CardAsks& asks);
    void answerLate();
    void show(QPushButton* button, bool shown);
    QLabel *when_, *what_, *plate_, *otherwise_, *assumed_, *countdown_, *countdownMore_;
    QPushButton *done_, *liquid_, *notYet_;
    QLabel* solder_;
    std::vector<QShortcut*> liquidKeys_, notYetKeys_;
    std::string card_;
    std::optional<HandCard> late_;
    bool asksLate_ = false; // the button is about late_
    QElapsedTimer answered_;
    int solderSite_ = 0; // 0: not asked about
};

} // namespace stripwright
