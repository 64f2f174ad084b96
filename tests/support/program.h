#pragma once

#include <QCoreApplication>
#include <QProcess>

#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <unistd.h>
#include <vector>

namespace stripwright {

/// One of the programs under test, started with arguments; killed at the end of its scope if it still runs.
class Program {
public:
    Program(const std::string& name, const std::vector<std::string>& arguments,
            const std::vector<std::pair<std::string, std::string>>& environment = {})
    {
        static int argc = 1;
        static char self[] = "test";
        static char* argv[] = {self, nullptr};
        static QCoreApplication application(argc, argv); // QProcess wants one.
        QStringList list;
        for (const std::string& argument : arguments)
            list << QString::fromStdString(argument);
        auto variables = QProcessEnvironment::systemEnvironment();
        variables.insert("XDG_DATA_HOME", "/nowhere"); // No entry of this user's shelf.
        for (const auto& [key, value] : environment)
            variables.insert(QString::fromStdString(key), QString::fromStdString(value));
        process_.setProcessEnvironment(variables);
        process_.setChildProcessModifier(
            [] { setpgid(0, 0); }); // So that a signal can go to it as from a terminal.
        process_.start(QString::fromStdString(std::string(BIN_DIR) + "/" + name), list);
        process_.waitForStarted();
    }
    ~Program()
    {
        process_.kill();
        process_.waitForFinished();
    }

    /// Exit code, or -1 if it has not ended by itself within that time or died by a signal.
    int exitCode(int withinMs = 30'000)
    {
        if (process_.state() != QProcess::NotRunning && !process_.waitForFinished(withinMs))
            return -1;
        return process_.exitStatus() == QProcess::NormalExit ? process_.exitCode() : -1;
    }
    void press(const std::string& keys) ///< On its keyboard: standard input is an open pipe.
    {
        process_.write(keys.data(), static_cast<qint64>(keys.size()));
        process_.waitForBytesWritten(100);
    }
    bool running()
    {
        process_.waitForFinished(0);
        return process_.state() != QProcess::NotRunning;
    }
    std::string out() { return (out_ += process_.readAllStandardOutput()).toStdString(); }
    std::string talk() { return (talk_ += process_.readAllStandardError()).toStdString(); }
    pid_t pid() const { return static_cast<pid_t>(process_.processId()); }

private:
    QProcess process_;
    QByteArray out_, talk_;
};

/// Processes below `ancestor` whose name starts so.
inline std::vector<pid_t> descendantsNamed(pid_t ancestor, const std::string& name)
{
    struct Entry {
        pid_t pid, parent;
        std::string name;
    };
    std::vector<Entry> all;
    for (const auto& folder : std::filesystem::directory_iterator("/proc")) {
        if (!std::isdigit(folder.path().filename().string().front()))
            continue;
        std::ifstream stat(folder.path() / "stat");
        std::string text((std::istreambuf_iterator<char>(stat)), {});
        const size_t open = text.find('('), close = text.rfind(')');
        if (open == std::string::npos || close == std::string::npos)
            continue;
        std::istringstream rest(text.substr(close + 1));
        Entry entry{std::atoi(text.c_str()), 0, text.substr(open + 1, close - open - 1)};
        std::string state;
        rest >> state >> entry.parent;
        all.push_back(entry);
    }
    std::vector<pid_t> family{ancestor}, found;
    for (size_t i = 0; i < family.size(); ++i)
        for (const Entry& entry : all)
            if (entry.parent == family[i]) {
                family.push_back(entry.pid);
                if (entry.name.starts_with(name.substr(0, 15)))
                    found.push_back(entry.pid);
            }
    return found;
}

} // namespace stripwright
