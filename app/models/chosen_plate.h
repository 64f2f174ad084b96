#pragma once

#include <QObject>

#include <filesystem>
#include <optional>

namespace stripwright {

/// A plate link file in words.
struct PlateInWords {
    QString name;
    QString reached;  ///< "127.0.0.1 port 502, unit 1".
    QString watchdog; ///< Whether it was proven to cut the heater.
    QString heat;     ///< Whether its heat was learnt.
    bool watchdogProven = false, heatLearnt = false;
    bool switchesFan = false; ///< Its link has a register for the fan; else hands switch it.
    QString problem;          ///< Why the file cannot be read; the rest is then empty.
};
PlateInWords plateInWords(const std::filesystem::path& linkFile);

/// Whether a link says that its plate is a simulated one; no link at all is the simulated plate. A file that
/// is no link is the controller's to refuse, and counts as one.
bool saysSimulated(const std::filesystem::path& linkFile);

/// Which plate the window works with: the simulated one, or the one of a link file. Remembered from one
/// window to the next, unless the command line says another.
class ChosenPlate : public QObject {
    Q_OBJECT
public:
    /// `settingsFile`: empty: nothing is remembered. `given`: from the command line; comes before what is
    /// remembered and does not change it.
    ChosenPlate(std::filesystem::path settingsFile, std::filesystem::path given, QObject* parent = nullptr);

    const std::filesystem::path& linkFile() const { return linkFile_; } ///< Empty: the simulated plate.
    /// The link that was in use last, also before the simulated plate; empty: none ever was.
    const std::filesystem::path& lastLinkFile() const { return lastLinkFile_; }
    bool simulated() const { return linkFile_.empty(); }
    PlateInWords inWords() const { return plateInWords(linkFile_); }
    void use(const std::filesystem::path& linkFile); ///< Also after its content has changed.
    void useSimulated() { use({}); }

signals:
    void changed();

private:
    std::filesystem::path settingsFile_, linkFile_, lastLinkFile_;
};

} // namespace stripwright
