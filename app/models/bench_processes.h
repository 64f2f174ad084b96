#pragma once

#include "materials/bench_sheet.h"

#include <QObject>
#include <QPointer>
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
/// process groups of their own, so that a terminal's Ctrl+C reaches only whoever started the run. The
/// controller is asked to end and never killed, and nothing here waits for it. With a simulated plate it is
/// asked to end, too, when this program dies in any way.
class BenchProcesses : public QObject {
    Q_OBJECT
public:
    using QObject::QObject;
    ~BenchProcesses() override; ///< As end(); gives it a tenth of a second.

    /// Starts anew; what still runs is ended first, and a controller begins only when the one before has let
    /// go of its plate, or after 8 s. The sheet is what lies on the simulated plate.
    void start(const LiveRunSetup& setup, const BenchSheet& sheet);
    /// Another controller on the plate that is there; as start() if the simulated plate is gone.
    void startControllerAgain();

    /// Asks the controller to end and lets it take its time, beyond the life of this object if need be; a
    /// simulated plate goes after it.
    void end();
    bool askControllerToEnd(); ///< It turns the heater off first. False if none runs.

    bool controllerLeaves() const { return leaving_; } ///< One that was asked to end has not ended yet.
    std::optional<int> controllerExitCode() const { return controllerExitCode_; } ///< If it ended by itself.
    QString controllerTalk() const; ///< The end of its standard error.

signals:
    void plateStarting();
    void controllerStarting(); ///< Twice if the one before took its time.
    void controllerReady(const QString& socketPath);
    void failed(const QString& why); ///< One could not be started.
    void plateEnded(const QString& why);
    void controllerEnded(const QString& why);

private:
    /// A process with its standard error.
    struct Child {
        std::unique_ptr<QProcess> process = std::make_unique<QProcess>();
        QByteArray talk;
    };
    std::unique_ptr<Child> child(const QString& name);
    void startController(const QString& linkFile);
    void startControllerNow(const QString& linkFile);
    void leaveController();
    QString newSocketPath() const;

    LiveRunSetup setup_;
    BenchSheet sheet_;
    std::shared_ptr<QTemporaryDir> folder_;
    std::unique_ptr<Child> plate_, controller_;
    QPointer<QProcess> leaving_; ///< The controller before this one.
    int awaited_ = 0;            ///< Which wait for it counts.
    std::optional<int> controllerExitCode_;
};

} // namespace stripwright
