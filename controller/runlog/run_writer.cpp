#include "runlog/log_file.h"
#include "runlog/reserve.h"
#include "runlog/salvage.h"

#include <limits>
#include <sqlite3.h>

namespace stripwright {

static constexpr size_t allSamples = std::numeric_limits<size_t>::max();
static constexpr size_t mostBenchEvents = 256;
static constexpr double lookAtFileS = 2;

struct RunWriter::Work {
    explicit Work(const std::filesystem::path& file);

    std::vector<std::unique_ptr<LogFile>> files; // the last one is written, the disk failed under the others
    RunMemory run;
    bool runOpen = false;
    std::deque<BenchEvent> benchEvents;
    Reserve reserve;
    bool diskFull = false;
    std::string fault; // of the file that was left
    std::vector<std::string> news;

    LogFile& file() { return *files.back(); }
    RunMemory* openRun() { return runOpen ? &run : nullptr; }
    void save();
    void saveWithoutRoom(const SQLite::Exception& error);
    void goOnInNewFile();
    void leaveFile(const SQLite::Exception& error);
    void handle(const SQLite::Exception& error);
    RunLogError failure(const std::string& what, const std::string& advice);
};

RunWriter::Work::Work(const std::filesystem::path& file) : reserve(file)
{
    checkRoom(file);
    {
        const WriterLock lock(file);
        if (const std::string finished = finishReplacing(file); !finished.empty())
            news.push_back(finished);
        std::error_code error;
        if (std::filesystem::exists(file, error) && std::filesystem::file_size(file, error) > 0)
            if (const FileHealth health = healthOf(file, lookAtFileS); !health.sound)
                news.push_back(replaceDamaged(file, health));
    }
    files.push_back(std::make_unique<LogFile>(file));
}

RunWriter::RunWriter(const std::filesystem::path& file)
{
    try {
        work_ = std::make_unique<Work>(file);
        work_->file().markInterrupted();
    } catch (const SQLite::Exception& error) {
        throw RunLogError(file.string() + ": cannot be opened as a run log (" + error.what() +
                          "); check the rights of this folder, or name another file");
    }
}

RunWriter::~RunWriter()
{
    try {
        commit();
    } catch (const RunLogError&) {
        // The caller heard it from its own last commit().
    }
}

std::string RunWriter::begin(const std::string& planText, const std::string& plateLinkText,
                             const std::string& startedUtc)
{
    if (work_->runOpen)
        throw RunLogError(file().string() + ": a run is open; it must end before another starts");
    checkRoom(file());
    work_->run = RunMemory{.planText = planText, .plateLinkText = plateLinkText, .startedUtc = startedUtc};
    try {
        if (!work_->file().left())
            work_->file().begin(work_->run);
    } catch (const SQLite::Exception& error) {
        if (troubleOf(error) != DiskTrouble::Failed)
            throw work_->failure(error.what(), "check the free space and the rights of this folder");
        work_->leaveFile(error);
    }
    if (work_->file().left()) {
        work_->run.key = keyOf(1, startedUtc);
        work_->goOnInNewFile();
    }
    work_->runOpen = true;
    work_->reserve.take();
    return work_->run.key;
}

void RunWriter::add(const Sample& sample)
{
    work_->run.add(sample);
}

void RunWriter::add(const Event& event)
{
    work_->run.events.push_back(event);
}

void RunWriter::add(const BenchEvent& event)
{
    work_->benchEvents.push_back(event);
    if (work_->benchEvents.size() > mostBenchEvents)
        work_->benchEvents.pop_front();
}

RunLogError RunWriter::Work::failure(const std::string& what, const std::string& advice)
{
    std::string text = file().path().string() + ": cannot be written (" + what + ")";
    if (runOpen)
        text += "; " + run.keptInWords() + ", the others are in memory";
    return RunLogError(text + "; " + advice);
}

void RunWriter::Work::save()
{
    if (file().left()) {
        if (runOpen)
            goOnInNewFile();
        else if (!benchEvents.empty())
            throw failure(fault, "the disk under this folder fails");
        return;
    }
    try {
        // While the disk is full the reserve is for what matters most; samples must not eat it.
        file().write(openRun(), benchEvents, diskFull && !reserve.roomAgain() ? 0 : allSamples);
    } catch (const SQLite::Exception& error) {
        handle(error);
    }
    if (runOpen && run.samplesOnDisk < run.samples.size())
        saveWithoutRoom(SQLite::Exception("database or disk is full", SQLITE_FULL));
    if (std::exchange(diskFull, false) && runOpen)
        reserve.take();
}

void RunWriter::Work::handle(const SQLite::Exception& error)
{
    switch (troubleOf(error)) {
    case DiskTrouble::Full:
        saveWithoutRoom(error);
        break;
    case DiskTrouble::Failed:
        leaveFile(error);
        save();
        break;
    case DiskTrouble::Other:
        throw failure(error.what(),
                      "check the rights of this folder, and whether another program has the file open");
    }
}

void RunWriter::Work::saveWithoutRoom(const SQLite::Exception& error)
{
    constexpr size_t fewSamples = 50;
    diskFull = true;
    reserve.free();
    try {
        file().write(openRun(), benchEvents, 0);
        while (runOpen && run.endOnDisk && run.samplesOnDisk < run.samples.size())
            file().write(openRun(), benchEvents, fewSamples);
        if (!runOpen || run.allOnDisk())
            return;
    } catch (const SQLite::Exception& again) {
        if (troubleOf(again) == DiskTrouble::Failed) {
            leaveFile(again);
            return save();
        }
    }
    throw failure(error.what(), "free space on the disk of this folder");
}

void RunWriter::Work::leaveFile(const SQLite::Exception& error)
{
    file().leave();
    fault = error.what();
}

void RunWriter::Work::goOnInNewFile()
{
    std::filesystem::path next = continuationOf(files.front()->path(), run.key);
    std::error_code none;
    for (int n = 2; std::filesystem::exists(next, none); ++n)
        next = continuationOf(files.front()->path(), run.key + "-" + std::to_string(n));
    RunMemory again = run;
    again.startOver();
    try {
        auto fresh = std::make_unique<LogFile>(next);
        fresh->begin(again);
        fresh->write(&again, benchEvents, allSamples);
        news.push_back(files.back()->path().string() + ": the disk failed (" + fault +
                       "); the run was written anew from memory into " + next.string() +
                       " and goes on there. Look at it with review --runs " + next.string());
        files.push_back(std::move(fresh));
        run = std::move(again);
    } catch (const std::exception& second) {
        for (const char* suffix : {"", "-wal", "-shm", ".lock"})
            std::filesystem::remove(next.string() + suffix, none);
        throw failure(fault, "the disk under this folder fails, and " + next.string() +
                                 " cannot be written either (" + second.what() + ")");
    }
}

void RunWriter::commit()
{
    work_->save();
}

void RunWriter::end(Outcome outcome, const std::string& text, const std::string& endedUtc)
{
    if (!work_->runOpen)
        throw RunLogError(file().string() + ": no run is open that could end");
    RunMemory& run = work_->run;
    run.outcome = outcome;
    run.outcomeText = text;
    run.endedUtc = endedUtc;
    work_->save();
    work_->runOpen = false;
    work_->reserve.free();
    // What stays are the counts.
    run.samples.clear();
    run.events.clear();
    run.onlyOnDisk += static_cast<long>(std::exchange(run.samplesOnDisk, 0));
    run.eventsOnDisk = 0;
}

KeptSamples RunWriter::kept() const
{
    return work_->run.kept();
}

const std::filesystem::path& RunWriter::file() const
{
    return work_->file().path();
}

std::vector<std::string> RunWriter::takeNews()
{
    return std::exchange(work_->news, {});
}

} // namespace stripwright
