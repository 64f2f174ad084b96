// Kills the writer of a run log at random moments, 1 to N times, and looks whether every row that it had
// confirmed is there. Prints the counts; ends with 1 if anything was wrong.
#include "runlog/run_log.h"
#include "runlog/salvage.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <random>
#include <sys/wait.h>
#include <unistd.h>

namespace stripwright {

static constexpr int killsPerFile = 25;

enum class Phase { Opening, Beginning, Writing, Ending, Closing, Count };
static constexpr const char* phaseNames[] = {"opening", "beginning", "writing", "ending", "closing"};

struct Confirmed {
    Phase next = Phase::Opening; ///< What the writer was about to do.
    char key[40] = "";
    long seq = 0;
    bool ended = false, badNews = false;
};

struct Expected {
    long seq = 0;
    bool ended = false;
};

static Sample sampleAt(long seq)
{
    return {.seq = seq,
            .timeS = 0.2 * double(seq),
            .sensorC = 25 + 0.1 * double(seq),
            .duty = 0.5,
            .extra = {{"a_C", double(seq)}, {"b_C", 2.0 * double(seq)}}};
}

/// Opens, writes runs of random length with commits of random size, closes, and begins anew, until killed.
[[noreturn]] static void writeForEver(const std::filesystem::path& file, int confirm, unsigned seed)
{
    std::mt19937 random(seed);
    const std::string plan = R"({"sheet": {"title": "Bar 7"}, "x": ")" + std::string(20'000, 'p') + "\"}";
    Confirmed now;
    auto say = [&](Phase next) {
        now.next = next;
        if (write(confirm, &now, sizeof now) != sizeof now)
            _exit(1);
    };
    try {
        for (;;) {
            say(Phase::Opening);
            auto writer = std::make_unique<RunWriter>(file);
            now.badNews = !writer->takeNews().empty();
            for (unsigned runs = 1 + random() % 3; runs > 0; --runs) {
                now.ended = false;
                now.seq = 0;
                now.key[0] = '\0';
                say(Phase::Beginning);
                std::snprintf(now.key, sizeof now.key, "%s",
                              writer->begin(plan, "link", "2026-11-25T09:00:00Z").c_str());
                say(Phase::Writing);
                for (unsigned commits = random() % 15; commits > 0; --commits) {
                    const long until = now.seq + 1 + long(random() % (commits % 8 == 0 ? 200 : 5));
                    long seq = now.seq;
                    while (seq < until) {
                        writer->add(sampleAt(++seq));
                        writer->add(Event{seq, double(seq), "note", "info", "n"});
                    }
                    writer->commit();
                    now.seq = seq;
                    say(Phase::Writing);
                }
                say(Phase::Ending);
                writer->end(Outcome::Completed, "done", "2026-11-25T09:10:00Z");
                now.ended = true;
                say(Phase::Closing);
            }
            writer.reset();
        }
    } catch (const std::exception& error) {
        std::fprintf(stderr, "the writer failed: %s\n", error.what());
        _exit(2);
    }
}

class Campaign {
public:
    explicit Campaign(const std::filesystem::path& folder) : folder_(folder) {}
    bool run(long kills);

private:
    void killOnce();
    void check(bool nextWriterLooked);
    void wrong(const std::string& what);
    std::filesystem::path file() const { return folder_ / ("runs-" + std::to_string(files_) + ".sqlite"); }

    std::filesystem::path folder_;
    std::mt19937 random_{20};
    std::map<std::string, Expected> expected_;
    long files_ = 0, runs_ = 0, rows_ = 0, moreThanConfirmed_ = 0, wrong_ = 0, kills_ = 0;
    long inPhase_[int(Phase::Count)] = {};
};

void Campaign::wrong(const std::string& what)
{
    ++wrong_;
    std::printf("WRONG after kill %ld, %s: %s\n", kills_, file().c_str(), what.c_str());
}

void Campaign::killOnce()
{
    int ends[2];
    if (pipe(ends) != 0)
        std::abort();
    const unsigned seed = random_(), delayUs = random_() % (random_() % 4 == 0 ? 8'000 : 70'000);
    const pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        writeForEver(file(), ends[1], seed);
    }
    close(ends[1]);
    usleep(delayUs);
    kill(child, SIGKILL);
    Confirmed last;
    while (read(ends[0], &last, sizeof last) == sizeof last) {
        if (last.badNews)
            wrong("the writer found the file damaged");
        if (last.key[0])
            expected_[last.key] = {last.seq, last.ended};
    }
    close(ends[0]);
    int status = 0;
    waitpid(child, &status, 0);
    if (!WIFSIGNALED(status))
        wrong("the writer ended by itself");
    ++inPhase_[int(last.next)];
    ++kills_;
}

void Campaign::check(bool nextWriterLooked)
{
    std::error_code error;
    if (!std::filesystem::exists(file(), error) || std::filesystem::file_size(file(), error) == 0) {
        if (!expected_.empty())
            wrong("the file is gone");
        return;
    }
    if (const FileHealth health = healthOf(file(), 30); !health.sound || !health.whole)
        return wrong("not sound: " + health.fault);
    std::optional<RunReader> reader;
    try {
        reader.emplace(file());
    } catch (const RunLogError& failure) {
        if (!expected_.empty())
            wrong(failure.what());
        return; // killed before it had its tables
    }
    std::map<std::string, RunSummary> found;
    for (const RunSummary& run : reader->runs())
        if (!found.emplace(run.key, run).second)
            wrong("two runs have the key " + run.key);
    for (const auto& [key, rows] : expected_) {
        if (!found.count(key)) {
            wrong("run " + key + " is gone");
            continue;
        }
        const RecordedRun run = reader->read(key);
        if (long(run.samples.size()) < rows.seq || run.events.size() != run.samples.size())
            wrong("run " + key + " has " + std::to_string(run.samples.size()) + " samples, " +
                  std::to_string(run.events.size()) + " events, confirmed were " + std::to_string(rows.seq));
        for (size_t i = 0; i < run.samples.size(); ++i)
            if (run.samples[i].seq != long(i) + 1 || run.samples[i].extra != sampleAt(long(i) + 1).extra) {
                wrong("run " + key + " has a gap or a changed row at " + std::to_string(i + 1));
                break;
            }
        if (rows.ended && run.summary.outcome != Outcome::Completed)
            wrong("run " + key + " lost its end");
        if (!nextWriterLooked)
            continue;
        if (!run.summary.outcome)
            wrong("run " + key + " was not marked interrupted");
        ++runs_;
        rows_ += rows.seq;
        moreThanConfirmed_ += long(run.samples.size()) > rows.seq;
    }
}

bool Campaign::run(long kills)
{
    const auto start = std::chrono::steady_clock::now();
    for (long n = 0; n < kills; ++files_) {
        expected_.clear();
        for (int i = 0; i < killsPerFile && n < kills; ++i, ++n) {
            killOnce();
            check(false);
        }
        {
            RunWriter next(file());
            if (!next.takeNews().empty())
                wrong("the next writer found the file damaged");
        }
        check(true);
        SQLite::Database database(file().string());
        if (const std::string found = database.execAndGet("PRAGMA integrity_check").getString();
            found != "ok")
            wrong(found);
        if (wrong_ == 0)
            for (const char* suffix : {"", "-wal", "-shm", ".lock", ".reserve"})
                std::filesystem::remove(file().string() + suffix);
    }
    const double tookS = std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
    std::printf("%ld kills in %.0f s, in %ld files: ", kills_, tookS, files_);
    for (int i = 0; i < int(Phase::Count); ++i)
        std::printf("%s%ld %s", i ? ", " : "", inPhase_[i], phaseNames[i]);
    std::printf(
        "\n%ld runs, %ld samples confirmed, and as many events; %ld runs had rows beyond what was confirmed\n"
        "%ld wrong\n",
        runs_, rows_, moreThanConfirmed_, wrong_);
    return wrong_ == 0;
}

} // namespace stripwright

int main(int argc, char** argv)
{
    const long kills = argc > 1 ? std::strtol(argv[1], nullptr, 10) : 100;
    std::string folder =
        (std::filesystem::path(argc > 2 ? argv[2] : std::filesystem::temp_directory_path().c_str()) /
         "stripwright-kills-XXXXXX")
            .string();
    if (kills < 1 || !mkdtemp(folder.data())) {
        std::fprintf(stderr, "usage: faults_log_kills KILLS [FOLDER]\n");
        return 2;
    }
    std::setvbuf(stdout, nullptr, _IOLBF, 0);
    const bool ok = stripwright::Campaign(folder).run(kills);
    if (ok)
        std::filesystem::remove_all(folder);
    return ok ? 0 : 1;
}
