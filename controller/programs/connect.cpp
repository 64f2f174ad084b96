#include "programs/programs.h"

#include "guardian/guardian.h"
#include "guardian/plate_lock.h"
#include "link/line_silence.h"
#include "materials/json_fields.h"
#include "materials/output_file.h"
#include "programs/bare_plate_question.h"
#include "programs/connect_talk.h"
#include "programs/guarded.h"

#include <cstdio>
#include <thread>
#include <unistd.h>

namespace stripwright {

namespace {

/// A real line, real time (times `speed`), and the guardian to keep awake.
class LiveSurroundings final : public Surroundings {
public:
    LiveSurroundings(ConnectTalk& talk, double speed, int heartbeat, const std::atomic<int>& stop,
                     const std::vector<std::string>& addresses)
        : talk_(talk), speed_(speed), heartbeat_(heartbeat), stop_(stop), addresses_(addresses)
    {
    }

    std::unique_ptr<Plate> open(const PlateLink& link) override { return openPlate(link); }
    std::unique_ptr<Plate> openAgain(const PlateLink& link) override
    {
        beat(heartbeat_);
        auto plate = openPlateAgain(link);
        beat(heartbeat_);
        return plate;
    }
    std::unique_ptr<Plate> openToTurnOff(const PlateLink& link) override
    {
        beat(heartbeat_);
        PlateLink now = link;
        if (!addresses_.empty())
            now.host = addresses_[nextAddress_++ % addresses_.size()];
        auto plate = stripwright::openToTurnOff(now, 0.4);
        beat(heartbeat_);
        return plate;
    }
    double plantS() override { return (monotonicS() - startS_) * speed_; }
    double wallS() override { return monotonicS(); }
    void waitUntil(double untilS) override
    {
        const double waitS = (untilS - plantS()) / speed_;
        if (waitS > 0)
            std::this_thread::sleep_for(std::chrono::duration<double>(waitS));
        beat(heartbeat_);
    }
    bool stopped() override { return stop_; }

    void tellCandidates(const CandidateTable& table) override { talk_.candidates(table); }
    void tellStep(const std::string& text) override { talk_.step(text); }
    void tellNews(std::optional<double> plateC, std::optional<double> duty) override
    {
        talk_.news(plateC, duty);
    }
    void tellProof(Proof what, bool ok, const std::string& text) override { talk_.proof(what, ok, text); }
    void tellLeftOpen(Proof what, const std::string& text) override { talk_.leftOpen(what, text); }

private:
    ConnectTalk& talk_;
    const double speed_, startS_ = monotonicS();
    const int heartbeat_;
    const std::atomic<int>& stop_;
    const std::vector<std::string>& addresses_; // as found before any heat: a name server may be gone
    size_t nextAddress_ = 0;
};

const std::string& outFile(const ConnectOptions& options)
{
    return options.out.empty() ? options.draft : options.out;
}

// The finished link as the file will be read, and written.
void keep(const ConnectOptions& options, const PlateLink& link)
{
    const std::string text = toJsonText(link);
    readPlateLink(text, outFile(options));
    writeWholeFile(outFile(options), text);
    std::fprintf(stderr,
                 link.watchdogProvenS > 0 ? "Kept in %s\n" : "Kept in %s, but its watchdog is not proven\n",
                 outFile(options).c_str());
}

int warmWork(const ConnectOptions& options, const CommissioningJob& job, ConnectTalk& talk,
             LiveSurroundings& around, int heartbeat, bool& mayHeat)
{
    mayHeat = true;
    CommissioningResult result = commissionPlate(job, around);
    if (result.heaterOff)
        sayHeaterOff(heartbeat); // a file is written yet, on a disk that may be slow
    if (guardianLost()) {
        result.stopped = false;
        result.refusals = {guardianLostText};
        result.link.reset();
    }
    int code = !result.heaterOff ? 1 : result.stopped ? 6 : result.refusals.empty() ? 0 : 7;
    if (code == 0) {
        try {
            keep(options, result.link.value());
        } catch (const BadInput& error) {
            result.refusals.push_back(std::string("the finished link is not whole: ") + error.what());
            code = 7;
        } catch (const CannotWrite& error) {
            result.refusals.push_back(error.what());
            code = 8;
        }
    }
    talk.end(result.refusals, result.heaterOff, result.link);
    return code;
}

int work(const ConnectOptions& options, ConnectTalk talk, const DraftLink& draft,
         const std::vector<std::string>& addresses, int heartbeat, const std::atomic<int>& stop,
         bool& mayHeat)
{
    LiveSurroundings around(talk, options.speed, heartbeat, stop, addresses);
    try {
        const CommissioningJob job{draft, widthsOf(draft.link), options.plateC};
        if (!options.coldOnly)
            return warmWork(options, job, talk, around, heartbeat, mayHeat);
        listCandidates(job, around);
        talk.end({}, {}, {});
        return 6;
    } catch (const LinkError& error) {
        talk.end({error.what()}, {}, {}); // nothing was heated: it could not even be opened
        return 5;
    }
}

int refuse(ConnectTalk& talk, int code, const std::string& why)
{
    talk.end({why}, {}, {});
    return code;
}

} // namespace

int connectPlate(const ConnectOptions& options)
{
    ConnectTalk talk(options.json, options.coldOnly, isatty(STDERR_FILENO));
    DraftLink draft;
    std::vector<std::string> addresses;
    try {
        if (!options.coldOnly && !options.out.empty()) // its own draft it may write over
            checkOutput(options.out, OutputKind::PlateLink, {});
        draft = readDraftLink(readTextFile(options.draft), options.draft);
        if (!options.coldOnly)
            checkCanWrite(outFile(options));
        const PlateLock free(draft.link); // guarded() takes it again, for good
        addresses = free.addresses();
    } catch (const BadInput& error) {
        std::vector<std::string> problems;
        for (const Problem& problem : error.problems())
            problems.push_back(problem.text());
        talk.end(problems, {}, {});
        return 3;
    } catch (const CannotWrite& error) {
        return refuse(talk, 8, error.what());
    } catch (const LinkError& error) { // in use, or a host that is not known
        return refuse(talk, 5, error.what());
    }
    if (const std::string why = speedRefusal(options.speed, draft.link, options.draft); !why.empty())
        return refuse(talk, 2, why);
    if (!options.coldOnly &&
        !plateIsBare(
            "in short steps by up to some 40 C: where it reads 40 C more than at first, its heat ends",
            draft.link.enable.has_value(), options.plateIsBare))
        return refuse(talk, 6, "nobody has said that the plate is bare");
    std::unique_ptr<RunningMark> mark;
    if (!options.coldOnly)
        mark = makeMark({.work = "proving a plate"}, draft.link, options.draft);
    return guarded(draft.link, options.draft, Attended::AtTheTerminal,
                   [&](int heartbeat, const std::atomic<int>& stop, bool& mayHeat) {
                       return work(options, talk, draft, addresses, heartbeat, stop, mayHeat);
                   });
}

} // namespace stripwright
