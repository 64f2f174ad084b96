#pragma once

#include "models/line_backlog.h"

#include <nlohmann/json.hpp>

#include <QObject>
#include <QPointer>
#include <QProcess>
#include <QTemporaryDir>
#include <QTimer>

#include <filesystem>
#include <memory>
#include <optional>

namespace stripwright {

/// Looks for plates on a line, reads one cold, proves one warm and learns the heat of one: each by a program
/// of the controller, one at a time. Whoever destroys it while heat may be on asks the program to stop, and
/// leaves it and its guardian to turn the heater off: nothing here kills them, or waits.
class PlateConnector : public QObject {
    Q_OBJECT
public:
    enum class Job { None, Find, Read, Prove, Learn, TurnOff };
    /// "Off" is only what a program has read back. NotConfirmed: it ended without, or has not said so 2 s
    /// after stop(); it stays until the heater of that plate is read back off, and nothing else begins
    /// before. OffConfirmed under a Learn that goes on: it only watches the plate cool.
    enum class Heater { Untouched, MayBeOn, OffSent, OffConfirmed, NotConfirmed };

    explicit PlateConnector(std::filesystem::path binFolder, QObject* parent = nullptr);
    ~PlateConnector() override;

    // Each ends what runs without heat first, and begins when that has let go of its line; false, and nothing
    // done, while heat may be on or a heater is NotConfirmed: what another plate says is not of that one.
    bool find(const QStringList& line); ///< As the program takes it: the line, then --baud and so on.
    bool read(const nlohmann::json& draft, std::optional<double> thermometerC);
    bool prove(const nlohmann::json& draft, std::optional<double> thermometerC);
    /// What is learnt goes onto the user's shelf as well, with the size as typed; without one, only if the
    /// plate stands there already. `shelf`: its folder; empty: it has none.
    struct Learning {
        double powerW = 0, ambientC = 23, topC = 180;
        std::filesystem::path shelf;
        QString size;
    };
    bool learn(const nlohmann::json& link, const Learning& how);
    /// Told before this returns. With nobody left to tell, and the heater NotConfirmed, a controller is
    /// started on the plate that was heated, whose first act is to turn the heater off, and told to end.
    void stop();

    Job job() const { return job_; }
    bool heats() const { return job_ == Job::Prove || job_ == Job::Learn; }
    Heater heater() const { return heater_; }
    /// Of the last Prove or Learn that succeeded, or as it was given; a Learn that came to nothing changes
    /// nothing in it: what was proven stays proven.
    const std::optional<nlohmann::json>& link() const { return link_; }
    void takeLink(std::optional<nlohmann::json> link); ///< From a file, say. Not while heat may be on.
    /// What is wrong with a link file, as the controller says it; empty: nothing. Waits for the answer.
    QStringList problemsIn(const QString& linkFile) const;

signals:
    void lineCame(const nlohmann::json& line); ///< An object, of whatever fields and types.
    void jobChanged();                         ///< job() or heater().
    void ended(const QString& why);            ///< Empty: it came to its end well.

private:
    bool begin(Job job, QStringList arguments, const nlohmann::json* file);
    bool write(const QString& file, const nlohmann::json& link);
    QString heatedFile() const; ///< Of the plate that a job heats, or has heated: no other job writes there.
    void turnOffAgain();
    void launch(const QStringList& arguments);
    void leave();
    void readLines();
    void take(const nlohmann::json& line);
    void takeHeater(const nlohmann::json& off);
    void finish(int exitCode, QProcess::ExitStatus status);
    void end(const QString& why);

    std::filesystem::path binFolder_;
    std::shared_ptr<QTemporaryDir> folder_ = std::make_shared<QTemporaryDir>();
    std::unique_ptr<QProcess> process_;
    QPointer<QProcess> leaving_; ///< The one before.
    int awaited_ = 0;            ///< Which wait for it counts.
    LineBacklog received_;
    QByteArray talk_;
    QTimer stopAnswer_;
    Job job_ = Job::None;
    Heater heater_ = Heater::Untouched;
    bool linkKept_ = false; ///< The program has said so, however it ends then.
    QStringList refusals_;
    std::optional<nlohmann::json> link_;
};

} // namespace stripwright
