#pragma once

#include "materials/bench_sheet.h"

#include <QObject>
#include <QProcess>
#include <QTemporaryDir>

#include <filesystem>
#include <memory>
#include <optional>

namespace stripwright {

/// What to drive and where to keep it.
struct LiveRunSetup {
    std::filesystem::path binFolder; ///< Where stripwright-controller and stripwright-plate stand.
    std::filesystem::path
        plateLink;                  ///< Plate link file of a real plate; empty: a simulated plate is started.
    std::filesystem::path runsFile; ///< Run log the controller writes.
    double speed = 1;               ///< Simulated plate only: plate seconds in a second of wall time.
    QStringList plateArguments;     ///< Further arguments of the simulated plate, e.g. a named fault.
};

/// The controller process and, when no plate link is given, the simulated plate before it. They live in
/// process groups of their own, so that a terminal's Ctrl+C reaches only whoever started the run.
class BenchProcesses : public QObject {
    Q_OBJECT
public:
    using QObject::QObject;
    ~BenchProcesses() override;

    /// Starts anew; what still runs is ended first. The sheet is what lies on the simulated plate.
    void start(const LiveRunSetup& setup, const BenchSheet& sheet);

    /// Waits up to 1.5 s for a controller that was told to shut down, then asks it to terminate: it and its
    /// guardian send "heater off" whatever happens here.
    void end();

    std::optional<int> controllerExitCode() const { return controllerExitCode_; } ///< If it ended by itself.
    QString controllerTalk() const; ///< The end of its standard error.

signals:
    void plateStarting();
    void controllerStarting();
    void controllerReady(const QString& socketPath);
    void failed(const QString& why); ///< One could not be started.
    void plateEnded(const QString& why);
    void controllerEnded(const QString& why);

private:
    /// A process with its standard error.
    struct Child {
        QProcess process;
        QByteArray talk;
    };
    std::unique_ptr<Child> child(const QString& name);
    void startController(const QString& linkFile);

    LiveRunSetup setup_;
    std::unique_ptr<QTemporaryDir> folder_;
    std::unique_ptr<Child> plate_, controller_;
    std::optional<int> controllerExitCode_;
};

} // namespace stripwright
