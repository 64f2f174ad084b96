#pragma once

#include <nlohmann/json.hpp>

#include <QObject>
#include <QProcess>
#include <QTemporaryDir>

#include <filesystem>
#include <memory>
#include <optional>

namespace stripwright {

/// Looks for plates on a line, reads one cold, proves one warm and learns the heat of one: each by a program
/// of the controller, one at a time. Whoever destroys it while heat may be on stops it and waits for its end;
/// the program's guardian turns the heater off whatever happens here.
class PlateConnector : public QObject {
    Q_OBJECT
public:
    enum class Job { None, Find, Read, Prove, Learn };
    /// "Off" is only what the program has read back.
    enum class Heater { Untouched, MayBeOn, OffSent, OffConfirmed, NotConfirmed };

    explicit PlateConnector(std::filesystem::path binFolder, QObject* parent = nullptr);
    ~PlateConnector() override;

    // Each ends what runs without heat first; false, and nothing done, while heat may be on.
    bool find(const QStringList& line); ///< As the program takes it: the line, then --baud and so on.
    bool read(const nlohmann::json& draft, std::optional<double> thermometerC);
    bool prove(const nlohmann::json& draft, std::optional<double> thermometerC);
    bool learn(const nlohmann::json& link, double powerW, double ambientC);
    void stop();

    Job job() const { return job_; }
    bool heats() const { return job_ == Job::Prove || job_ == Job::Learn; }
    Heater heater() const { return heater_; }
    const std::optional<nlohmann::json>& link() const
    {
        return link_;
    } ///< Of the last Prove or Learn that succeeded.

signals:
    void lineCame(const nlohmann::json& line); ///< As the program wrote it.
    void jobChanged();
    void ended(const QString& why); ///< Empty: it came to its end well.

private:
    bool begin(Job job, QStringList arguments, const nlohmann::json* file);
    void readLines();
    void finish(int exitCode, QProcess::ExitStatus status);

    std::filesystem::path binFolder_;
    QTemporaryDir folder_;
    std::unique_ptr<QProcess> process_;
    QByteArray received_, talk_;
    Job job_ = Job::None;
    Heater heater_ = Heater::Untouched;
    QStringList refusals_;
    std::optional<nlohmann::json> link_;
};

} // namespace stripwright
