#include "stand.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <cerrno>
#include <csignal>
#include <unistd.h>

namespace stripwright::faults {

void Stand::act(Act what)
{
    switch (what) {
    case Act::KillWorker:
        kill(worker_, SIGKILL);
        break;
    case Act::StopWorker:
        kill(worker_, SIGSTOP);
        break;
    case Act::KillGuardian:
        kill(guardian_, SIGKILL);
        break;
    case Act::StopGuardian:
        kill(guardian_, SIGSTOP);
        break;
    case Act::KillFront:
        kill(front_, SIGKILL);
        break;
    case Act::StopFront:
        kill(front_, SIGSTOP);
        break;
    case Act::KillEverything:
        for (const pid_t pid : {front_, guardian_, worker_})
            kill(pid, SIGKILL);
        break;
    case Act::WindowGone:
        client->leave();
        break;
    case Act::WindowSilent:
        client->silent = true;
        break;
    case Act::BusyProcessor:
        keepBusy();
        break;
    case Act::SecondController:
        secondController();
        break;
    case Act::WallClockJump:
        shim_->realAheadS = 3600;
        break;
    case Act::Suspend:
        shim_->bootAheadS = 60;
        break;
    case Act::DiskFull:
        shim_->writeErrno = ENOSPC;
        break;
    case Act::DiskError:
        shim_->writeErrno = EIO;
        shim_->syncErrno = EIO;
        break;
    case Act::SlowSync:
        shim_->syncTakesS = 5;
        break;
    case Act::RunsLocked:
        lockRuns();
        break;
    case Act::BadRecipe:
        client->send(StartRun{R"({"format": "stripwright-heat-plan", "version": 1, "heater_off_s": -1})"});
        break;
    case Act::Garbage:
        for (int n = 0; n < 300; ++n) {
            std::string line;
            for (int i = 0; i < 200; ++i)
                line += static_cast<char>(
                    (n * 131 + i * 89) % 254 + 1 == '\n' ? 'x' : (n * 131 + i * 89) % 254 + 1);
            client->sendLine(line + "\n");
        }
        break;
    case Act::Flood:
        flood();
        break;
    case Act::OperatorStop:
        client->send(StopHeating{4711});
        break;
    case Act::PlateFault:
    case Act::RunsCorrupt:
    case Act::WrongWordOrder:
    case Act::NotInjected:
        break;
    }
}

void Stand::keepBusy()
{
    for (int n = 0; n < 4; ++n) {
        const pid_t pid = fork();
        if (pid == 0) {
            alarm(120);
            for (volatile bool spin = true; spin;) {
            }
        }
        burners_.push_back(pid);
    }
}

void Stand::secondController()
{
    ChildProgram second("stripwright-controller", controllerArguments("second.sock"), environment());
    const std::optional<int> code = second.exitCode(5);
    const double tookS = nowS() - beganS_;
    actFailed = !code || *code == 0;
    char text[120];
    std::snprintf(text, sizeof text, "second one %s after %.2f s",
                  code ? ("ended with " + std::to_string(*code)).c_str() : "not refused", tookS);
    actSays = text;
}

void Stand::lockRuns()
{
    auto database =
        std::make_shared<SQLite::Database>((folder_ / "bench.runs").string(), SQLite::OPEN_READWRITE);
    const bool locked = waitFor(
        [&] {
            try {
                database->exec("BEGIN EXCLUSIVE");
                return true;
            } catch (const SQLite::Exception&) {
                return false;
            }
        },
        3);
    actSays = locked ? "" : "nobody else gets the lock";
    held_ = database;
}

void Stand::flood()
{
    Client second(folder_ / "c.sock");
    second.silent = true; // it does not read its answers either
    const double untilS = nowS() + 3;
    const std::string lines = encode(AddNote{std::string(300, 'n')}) + "{\"message\": \"nonsense\"}\n" +
                              encode(StartRun{planText_});
    while (nowS() < untilS && !client->closed) {
        second.sendLine(lines, 0.01);
        client->until([] { return true; }, 0);
    }
}

} // namespace stripwright::faults
