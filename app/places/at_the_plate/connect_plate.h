#pragma once

#include "models/plate_connector.h"

#include <QDialog>

class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QListWidget;
class QPushButton;
class QSpinBox;
class QTableWidget;

namespace stripwright {

class RegisterRow;
class StopButton;

/// From a plate and its manual to a plate link file: say where it is, look what its sensor's registers may
/// mean, prove it with a little heat, learn its heat, save. Stands beside the window, never in front of it.
class ConnectPlate : public QDialog {
    Q_OBJECT
public:
    /// `shelfFolder`: of the user's own entries, where a plate goes whose heat was learnt; empty: nowhere.
    ConnectPlate(const std::filesystem::path& binFolder, const std::filesystem::path& linkFolder,
                 const std::filesystem::path& shelfFolder, QWidget* parent = nullptr);

    PlateConnector& connector() { return connector_; }
    bool heatMayBeOn() const;
    void stop();
    void reject() override;    ///< Stops first where something runs, and waits for its end.
    QString leftWords() const; ///< Which plate's heater is not known to be off.

protected:
    void keyPressEvent(QKeyEvent* event) override;

signals:
    void saved(const QString& linkFile);
    void shelfChanged();                ///< A plate was put there.
    void leftHot(const QString& words); ///< It closes with a heater that was not read back off.

private:
    QWidget* form();
    QWidget* doings();
    nlohmann::json draft();
    QStringList lineArguments() const;
    std::optional<double> thermometerC() const;
    void take(const nlohmann::json& line);
    void showCandidates(const nlohmann::json& list);
    void showJob();
    void learn();
    void showLearnt(const nlohmann::json& learnt);
    void showShelf(const nlohmann::json& line);
    void showEnd(const QString& why);
    void note(const QString& text);
    QString heaterText() const;
    void leave();
    void save();
    void saveAs(const QString& file);

    PlateConnector connector_;
    std::filesystem::path linkFolder_, shelfFolder_;
    QLineEdit *name_, *host_, *size_;
    QComboBox *kind_, *device_, *baud_, *frame_, *drive_;
    QSpinBox *port_, *unit_;
    RegisterRow *sensor_, *heat_, *setpoint_, *output_, *watchdog_, *enable_, *strip_;
    QCheckBox *measured_, *bare_;
    QDoubleSpinBox *thermometer_, *power_;
    QPushButton *find_, *read_, *prove_, *learn_, *save_;
    StopButton* stop_;
    QLabel *heater_, *now_;
    QTableWidget* candidates_;
    QListWidget* notes_;
    bool closing_ = false;
};

} // namespace stripwright
