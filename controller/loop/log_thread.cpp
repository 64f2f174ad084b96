#include "loop/log_thread.h"

#include <cstdio>
#include <ctime>

namespace stripwright {

using namespace std::chrono_literals;
using Clock = std::chrono::steady_clock;

static constexpr auto commitEvery = 1s, sayAgainEvery = 15s;
static constexpr size_t mostNotices = 64;

static std::string inUtc(std::time_t at)
{
    std::tm parts{};
    gmtime_r(&at, &parts);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return text;
}

static std::string utcNow()
{
    return inUtc(std::time(nullptr));
}

LogThread::LogThread(std::unique_ptr<RunWriter> writer, Rings& rings, std::vector<std::string> channelNames)
    : writer_(std::move(writer)), named_(writer_->file()), rings_(rings),
      channelNames_(std::move(channelNames)), beat_(Clock::now().time_since_epoch().count()),
      thread_([this] { work(); })
{
}

LogThread::~LogThread()
{
    {
        const std::lock_guard lock(mutex_);
        quit_ = true;
    }
    wake_.notify_one();
    thread_.join();
}

std::string LogThread::begin(const std::string& planText, const std::string& plateLinkText,
                             std::chrono::milliseconds patience)
{
    std::future<std::string> key;
    {
        const std::lock_guard lock(mutex_);
        if (beginAbandoned_)
            throw RunLogError("the disk of the run log has not answered yet; wait, or check the disk");
        begin_ = Begin{planText, plateLinkText, {}};
        key = begin_->key.get_future();
    }
    wake_.notify_one();
    if (key.wait_for(patience) != std::future_status::ready) {
        const std::lock_guard lock(mutex_);
        // It may have come in the meantime.
        if (key.wait_for(0s) != std::future_status::ready) {
            beginAbandoned_ = true;
            throw RunLogError(
                "the disk of the run log does not answer; check the disk, or name another file");
        }
    }
    return key.get();
}

std::string LogThread::trouble() const
{
    const std::lock_guard lock(mutex_);
    return trouble_;
}

void LogThread::setTrouble(const std::string& text)
{
    const std::lock_guard lock(mutex_);
    trouble_ = text;
}

std::chrono::milliseconds LogThread::silentFor() const
{
    return std::chrono::duration_cast<std::chrono::milliseconds>(Clock::now().time_since_epoch() -
                                                                 Clock::duration(beat_));
}

std::optional<Event> LogThread::takeNotice()
{
    const std::lock_guard lock(mutex_);
    if (notices_.empty())
        return std::nullopt;
    Event notice = std::move(notices_.front());
    notices_.pop_front();
    return notice;
}

void LogThread::work()
{
    auto nextCommit = Clock::now() + commitEvery;
    for (;;) {
        ++rings_.logBeat;
        std::optional<Begin> begin;
        bool quit;
        {
            std::unique_lock lock(mutex_);
            wake_.wait_for(lock, 50ms, [this] { return quit_ || begin_; });
            begin = std::exchange(begin_, std::nullopt);
            quit = quit_;
        }
        beat_ = Clock::now().time_since_epoch().count();
        for (const std::string& news : writer_->takeNews())
            say(Severity::Warning, news);
        drain();
        takeNotes();
        if (begin)
            this->begin(*begin);
        if (quit || (end_ && !failing_) || Clock::now() >= nextCommit) {
            commit();
            nextCommit = Clock::now() + commitEvery;
        }
        sendRemarks();
        if (quit)
            return;
    }
}

void LogThread::begin(Begin& begin)
{
    std::string key;
    std::exception_ptr problem;
    try {
        key = writer_->begin(begin.planText, begin.plateLinkText, utcNow());
        lastSeq_ = lastEventSeq_ = lostInRing_ = 0;
        failing_ = false;
        setTrouble("");
        count();
    } catch (...) {
        problem = std::current_exception();
    }
    bool abandoned;
    {
        const std::lock_guard lock(mutex_);
        abandoned = std::exchange(beginAbandoned_, false);
        runOpen_ = !problem && !abandoned;
        if (problem)
            begin.key.set_exception(problem);
        else
            begin.key.set_value(key);
    }
    if (abandoned && !problem)
        closeAbandoned();
}

void LogThread::closeAbandoned()
{
    CycleRecord never;
    never.outcome = Outcome::Failed;
    std::snprintf(never.outcomeText.data(), never.outcomeText.size(),
                  "Not started: the disk of the run log did not answer in time.");
    end_ = never;
    endedUtc_ = utcNow();
    runOpen_ = true;
}

void LogThread::drain()
{
    CycleRecord record;
    while (rings_.toLog.try_dequeue(record))
        take(record);
    count();
}

void LogThread::take(const CycleRecord& record)
{
    char text[160];
    if (record.sampleSeq > 0) {
        if (const long lost = record.sampleSeq - lastSeq_ - 1; lost > 0) {
            lostInRing_ += lost;
            std::snprintf(
                text, sizeof text,
                "samples %ld to %ld (%ld) never reached the run log: the disk kept it waiting too long",
                lastSeq_ + 1, record.sampleSeq - 1, lost);
            say(Severity::Warning, text);
        }
        lastSeq_ = record.sampleSeq;
        writer_->add(sampleOf(record, channelNames_));
    }
    for (int i = 0; i < record.eventCount; ++i) {
        const LoopEvent& event = record.events[static_cast<size_t>(i)];
        if (event.seq > lastEventSeq_ + 1) {
            std::snprintf(text, sizeof text, "events %ld to %ld never reached the run log", lastEventSeq_ + 1,
                          event.seq - 1);
            say(Severity::Warning, text);
        }
        lastEventSeq_ = event.seq;
        writer_->add(messageOf(event));
    }
    if (record.outcome) {
        end_ = record;
        endedUtc_ = utcNow();
    }
}

void LogThread::takeNotes()
{
    while (const std::optional<NoteBoard::Note> note = notes_.take())
        writer_->add(BenchEvent{inUtc(note->at), note->event.kind, note->event.severity, note->event.text});
    if (const long lost = notes_.lost(); lost > notesLostSaid_) {
        writer_->add(BenchEvent{utcNow(), "note", "warning",
                                std::to_string(lost - notesLostSaid_) + " events came too fast to be kept"});
        notesLostSaid_ = lost;
    }
}

void LogThread::count()
{
    const KeptSamples kept = writer_->kept();
    missing_ = kept.taken - kept.onDisk + lostInRing_;
}

// In a run its events say it, so that it stands in the run and reaches every window; else nobody takes
// remarks.
void LogThread::say(Severity severity, const std::string& text)
{
    if (runOpen_ && !end_) {
        Remark remark{EventKind::Note, severity, {}};
        std::snprintf(remark.text.data(), remark.text.size(), "%s", text.c_str());
        remarks_.push_back(remark);
        return;
    }
    const char* name = severity == Severity::Info ? "info" : "warning";
    writer_->add(BenchEvent{utcNow(), "note", name, text});
    const std::lock_guard lock(mutex_);
    notices_.push_back(Event{.kind = "note", .severity = name, .text = text});
    if (notices_.size() > mostNotices)
        notices_.pop_front();
}

void LogThread::sendRemarks()
{
    if (end_ || !runOpen_) {
        for (const Remark& remark : std::exchange(remarks_, {}))
            say(remark.severity, remark.text.data());
        return;
    }
    while (!remarks_.empty() && rings_.fromLog.try_enqueue(remarks_.front()))
        remarks_.pop_front();
}

void LogThread::commit()
{
    const bool wasFailing = failing_;
    try {
        if (runOpen_ && end_) {
            std::string text = end_->outcomeText.data();
            const auto add = [&](const std::string& sentence) {
                text += (text.empty() ? "" : text.ends_with('.') ? " " : ". ") + sentence;
            };
            if (lostInRing_ > 0)
                add(std::to_string(lostInRing_) + " samples never reached the run log.");
            if (writer_->file() != named_)
                add("The disk failed; the run is in " + writer_->file().string() + ".");
            writer_->end(*end_->outcome, text, endedUtc_);
            end_.reset();
            runOpen_ = false;
        } else {
            writer_->commit();
        }
        failing_ = false;
        count();
        if (wasFailing)
            say(Severity::Info, missing_ == 0 ? "the run log is written again, nothing is missing"
                                              : "the run log is written again, " + std::to_string(missing_) +
                                                    " samples are missing");
        setTrouble(!runOpen_ && missing_ > 0
                       ? writer_->file().string() + ": " + std::to_string(missing_) + " of " +
                             std::to_string(writer_->kept().taken + lostInRing_) +
                             " samples of the last run are missing"
                       : "");
    } catch (const RunLogError& error) {
        failing_ = true;
        count();
        const std::string text = std::string("the run log cannot be written: ") + error.what();
        setTrouble(text);
        if (!wasFailing || Clock::now() >= nextSaid_) {
            say(Severity::Warning, text);
            nextSaid_ = Clock::now() + sayAgainEvery;
        }
    }
}

} // namespace stripwright
