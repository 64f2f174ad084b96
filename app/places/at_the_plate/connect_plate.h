#pragma once

#include "models/plate_connector.h"

#include <QDialog>
#include <QElapsedTimer>
#include <QTimer>

#include <map>

class QCheckBox;
class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QListWidget;
class QPushButton;
class QTableWidget;
class QVBoxLayout;

namespace stripwright {

class FigureField;
class MessageLine;
class PlateForm;
class StopButton;
struct PlateToLearn;

/// From a plate and its manual, or from a link file, to a plate link file: say where it is, look what its
/// sensor's registers may mean, prove it with a little heat, learn its heat, save. What was proven or learnt
/// and not saved yet is kept beside the saved ones. Stands beside the window, never in front of it.
class ConnectPlate : public QDialog {
    Q_OBJECT
public:
    /// `shelfFolder`: of the user's own entries, where a plate goes whose heat was learnt; empty: nowhere.
    ConnectPlate(const std::filesystem::path& binFolder, const std::filesystem::path& linkFolder,
                 const std::filesystem::path& shelfFolder, QWidget* parent = nullptr);

    PlateConnector& connector() { return connector_; }
    bool heatMayBeOn() const;
    void stop();
    void reject() override;    ///< Asks first in a job that heats; stops what runs, and waits for its end.
    QString leftWords() const; ///< Which plate's heater is not known to be off.
    QString warmWords() const; ///< Which plates were last read too hot to touch.

protected:
    void keyPressEvent(QKeyEvent* event) override;

signals:
    void saved(const QString& linkFile);
    void shelfChanged();                 ///< A plate was put there.
    void leftHot(const QString& words);  ///< It closes with a heater that was not read back off.
    void leftWarm(const QString& words); ///< It closes, and a plate was last read too hot to touch.

private:
    QWidget* doings();
    void addUnsaved(QVBoxLayout* column);
    std::filesystem::path newestUnsaved() const; ///< What was kept and never saved; empty: nothing.
    void addCold(QVBoxLayout* column);
    void addWarm(QVBoxLayout* column);
    void addFoot(QVBoxLayout* column);
    void connectDoings();
    QStringList wrongInForm() const;
    nlohmann::json draft();
    void askForLink();
    bool goOnFrom(const QString& file); ///< Whether it was taken; says why not.
    void takeBackWords();
    void prove();
    std::optional<double> thermometerC() const;
    void take(const nlohmann::json& line);
    void takeNews(const nlohmann::json& line);
    void showNow();
    void showCandidates(const nlohmann::json& list);
    void showDevice(const nlohmann::json& device);
    void showJob();
    bool isAsConnected() const;
    nlohmann::json linkInForce() const; ///< As it was connected, with what says nothing of how it is driven.
    PlateToLearn toLearn(const nlohmann::json& link) const;
    void showNeeds();
    void learn();
    void keepUnsaved();
    std::filesystem::path unsavedFileFor(const nlohmann::json& link) const;
    QString whyNotSaved() const; ///< Empty: it can be.
    void showLearnt(const nlohmann::json& learnt);
    void showShelf(const nlohmann::json& line);
    void showEnd(const QString& why);
    void note(const QString& text);
    QString heaterText() const;
    QString heatedPlate() const;
    bool onlyCools() const; ///< What was learnt is known, and the plate is watched with its heater off.
    QString closingWords() const;
    void tellWhatIsLeft();
    void leave();
    void save();
    void saveAs(const QString& file);

    PlateConnector connector_;
    std::filesystem::path linkFolder_, shelfFolder_;
    PlateForm* form_;
    nlohmann::json proving_;        // the draft of the last proof
    nlohmann::json asConnected_;    // what the form said of how the link's plate is reached and driven
    nlohmann::json kept_ = nullptr; // the link that was kept last
    QString heatedName_;            // of the plate that was heated last, whatever is typed since
    std::filesystem::path unsaved_; // where this dialog has kept it; empty: nowhere
    FigureField* power_;
    QLineEdit* size_;
    QCheckBox *measured_, *bare_, *sizeNotKnown_;
    QDoubleSpinBox* thermometer_;
    QPushButton *find_, *read_, *prove_, *learn_, *save_, *endWatching_;
    StopButton* stop_;
    QLabel *now_, *needs_;
    MessageLine *heater_, *goesOn_, *closingLine_;
    QTableWidget* candidates_;
    QListWidget* notes_;
    std::optional<double> shownC_; // the last reading of this job, and since when it is known
    QElapsedTimer shownSince_;
    nlohmann::json readAtS_; // by the program's clock
    QString newsText_;       // heat and step
    QTimer ageing_;
    std::map<QString, double> lastReadC_; // by the name of the plate that was heated
    bool closing_ = false, closeAsked_ = false;
};

} // namespace stripwright
