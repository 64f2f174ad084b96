#pragma once

#include "models/measured_hands.h"

#include <QWidget>

#include <functional>

class QGridLayout;
class QLineEdit;
class QPushButton;

namespace stripwright {

class ChoiceField;
class MessageLine;

/// The fields of a bench sheet beside the strip drawing. Shows a sheet and says which sheet the user wants
/// instead; a field that cannot be read says so under itself and changes nothing.
QString lensEditText(LensState lens, const QString& sites); ///< Name of the edit, for undo.

class SheetForm : public QWidget {
    Q_OBJECT
public:
    explicit SheetForm(const Shelf& shelf, QWidget* parent = nullptr);
    void setShelf(const Shelf& shelf); ///< Must outlive this; a plate may have been added or measured anew.
    void showSheet(const BenchSheet& sheet);
    /// A pace taken from recorded runs can be chosen as soon as they say enough of it.
    void offerMeasuredHands(const MeasuredHands& measured);

signals:
    void wanted(const stripwright::BenchSheet& sheet, const QString& editName);

private:
    using Change = std::function<BenchSheet(const BenchSheet&, const QString& id)>;
    ChoiceField* addChoice(int row, int column, const QString& label, const QString& editName,
                           const Change& change);
    QLineEdit* addNumber(int row, int column, const QString& label, const QString& unit, double min,
                         double max, const QString& editName,
                         const std::function<BenchSheet(BenchSheet, double)>& change,
                         const std::function<BenchSheet(BenchSheet)>& empty = {});
    void addSites(int row);
    void markSites(SiteState state);
    void markLenses(LensState lens);
    std::vector<int> sitesWritten(); ///< Empty, and said why, if none can be read.

    void showHands();

    const Shelf* shelf_;
    BenchSheet sheet_;
    std::optional<Hands> offered_; // as measured
    QGridLayout* grid_;
    ChoiceField *way_, *hands_, *paste_, *oldAlloy_, *strip_, *plate_, *contact_, *cooling_, *heat_;
    QPushButton* releaseLens_;
    QLineEdit *plateStart_, *lift_, *ambient_, *sites_;
    MessageLine* sitesMessage_;
};

} // namespace stripwright
