#include "models/bench_processes.h"

#include <nlohmann/json.hpp>

#include <QFile>
#include <QFileInfo>

#include <unistd.h>

namespace stripwright {

static QString lastLines(const QByteArray& talk)
{
    return QString::fromUtf8(talk).trimmed().right(600);
}

static QString program(const LiveRunSetup& setup, const char* name)
{
    return QString::fromStdString((setup.binFolder / name).string());
}

static QString whyEnded(const QString& name, int exitCode, const QByteArray& talk)
{
    const QString said = lastLines(talk);
    return said.isEmpty() ? BenchProcesses::tr("The %1 ended with code %2.").arg(name).arg(exitCode) : said;
}

BenchProcesses::~BenchProcesses()
{
    end();
}

QString BenchProcesses::controllerTalk() const
{
    return controller_ ? lastLines(controller_->talk) : QString();
}

std::unique_ptr<BenchProcesses::Child> BenchProcesses::child(const QString& name)
{
    auto made = std::make_unique<Child>();
    Child* one = made.get();
    one->process.setChildProcessModifier([] { setpgid(0, 0); });
    connect(&one->process, &QProcess::readyReadStandardError, this,
            [one] { one->talk = (one->talk + one->process.readAllStandardError()).right(4096); });
    connect(&one->process, &QProcess::errorOccurred, this, [this, one, name](QProcess::ProcessError error) {
        if (error == QProcess::FailedToStart)
            emit failed(tr("Cannot start the %1 %2: %3")
                            .arg(name, one->process.program(), one->process.errorString()));
    });
    return made;
}

void BenchProcesses::start(const LiveRunSetup& setup, const BenchSheet& sheet)
{
    end();
    setup_ = setup;
    controllerExitCode_.reset();
    folder_ = std::make_unique<QTemporaryDir>();
    if (!setup.plateLink.empty()) {
        startController(QString::fromStdString(setup.plateLink.string()));
        return;
    }
    QFile sheetFile(folder_->filePath("on-the-plate.bench.json"));
    if (!sheetFile.open(QIODevice::WriteOnly) ||
        sheetFile.write(QByteArray::fromStdString(toJson(sheet).dump())) < 0) {
        emit failed(tr("Cannot write %1: %2").arg(sheetFile.fileName(), sheetFile.errorString()));
        return;
    }
    sheetFile.close();
    emit plateStarting();
    const QString name = tr("simulated plate"), link = folder_->filePath("simulated.plate.json");
    plate_ = child(name);
    // The plate writes its link file before it says a word on standard output.
    connect(&plate_->process, &QProcess::readyReadStandardOutput, this, [this, link] {
        plate_->process.readAllStandardOutput();
        if (!controller_ && QFileInfo(link).size() > 0)
            startController(link);
    });
    connect(&plate_->process, &QProcess::finished, this, [this, name](int exitCode) {
        plate_->talk += plate_->process.readAllStandardError();
        emit plateEnded(whyEnded(name, exitCode, plate_->talk));
    });
    plate_->process.start(program(setup_, "stripwright-plate"),
                          QStringList{"--tcp", "0", "--sheet", sheetFile.fileName(), "--link-out", link,
                                      "--speed", QString::number(setup_.speed), "--exit-with-parent"} +
                              setup_.plateArguments);
}

void BenchProcesses::startController(const QString& linkFile)
{
    emit controllerStarting();
    const QString name = tr("controller"), socketPath = folder_->filePath("talk");
    controller_ = child(name);
    connect(&controller_->process, &QProcess::readyReadStandardOutput, this, [this, socketPath] {
        if (controller_->process.readAllStandardOutput().contains("ready"))
            emit controllerReady(socketPath);
    });
    connect(&controller_->process, &QProcess::finished, this,
            [this, name](int exitCode, QProcess::ExitStatus exitStatus) {
                if (exitStatus == QProcess::NormalExit)
                    controllerExitCode_ = exitCode;
                controller_->talk += controller_->process.readAllStandardError();
                emit controllerEnded(whyEnded(name, exitCode, controller_->talk));
            });
    controller_->process.start(program(setup_, "stripwright-controller"),
                               {"--plate", linkFile, "--runs",
                                QString::fromStdString(setup_.runsFile.string()), "--socket", socketPath,
                                "--speed", QString::number(setup_.speed)});
}

void BenchProcesses::end()
{
    if (controller_) {
        controller_->process.disconnect(this);
        if (controller_->process.state() != QProcess::NotRunning &&
            !controller_->process.waitForFinished(1500)) {
            controller_->process.terminate();
            controller_->process.waitForFinished(2000);
        }
        if (controller_->process.state() == QProcess::NotRunning &&
            controller_->process.exitStatus() == QProcess::NormalExit)
            controllerExitCode_ = controller_->process.exitCode();
        controller_.reset();
    }
    if (plate_) {
        plate_->process.disconnect(this);
        plate_->process.terminate();
        plate_->process.waitForFinished(1000);
        plate_.reset();
    }
}

} // namespace stripwright
