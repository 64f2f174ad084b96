#include "loop/log_thread.h"

#include <chrono>
#include <cstdio>
#include <ctime>

namespace stripwright {

using namespace std::chrono_literals;

static std::string utcNow()
{
    const std::time_t now = std::time(nullptr);
    std::tm parts{};
    gmtime_r(&now, &parts);
    char text[32];
    std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
    return text;
}

LogThread::LogThread(std::unique_ptr<RunWriter> writer, Rings& rings, std::vector<std::string> channelNames)
    : writer_(std::move(writer)), rings_(rings), channelNames_(std::move(channelNames)),
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

std::string LogThread::begin(const std::string& planText, const std::string& plateLinkText)
{
    std::future<std::string> key;
    {
        const std::lock_guard lock(mutex_);
        begin_ = Begin{planText, plateLinkText, {}};
        key = begin_->key.get_future();
    }
    wake_.notify_one();
    return key.get();
}

void LogThread::work()
{
    auto nextCommit = std::chrono::steady_clock::now() + 1s;
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
        drain();
        if (begin) {
            try {
                const std::string key = writer_->begin(begin->planText, begin->plateLinkText, utcNow());
                runOpen_ = true;
                begin->key.set_value(key);
            } catch (...) {
                begin->key.set_exception(std::current_exception());
            }
        }
        if (quit || end_ || std::chrono::steady_clock::now() >= nextCommit) {
            commit();
            nextCommit = std::chrono::steady_clock::now() + 1s;
            if (end_ && !quit)
                std::this_thread::sleep_for(1s); // the end could not be written
        }
        if (quit)
            return;
    }
}

void LogThread::drain()
{
    CycleRecord record;
    while (rings_.toLog.try_dequeue(record)) {
        if (record.sampleSeq > 0)
            writer_->add(sampleOf(record, channelNames_));
        for (int i = 0; i < record.eventCount; ++i)
            writer_->add(messageOf(record.events[static_cast<size_t>(i)]));
        if (record.outcome) {
            end_ = record;
            endedUtc_ = utcNow();
        }
    }
}

void LogThread::remark(Severity severity, const std::string& text)
{
    Remark remark{EventKind::Note, severity, {}};
    std::snprintf(remark.text.data(), remark.text.size(), "%s", text.c_str());
    rings_.fromLog.try_enqueue(remark);
}

void LogThread::commit()
{
    if (!runOpen_)
        return;
    try {
        if (end_) {
            writer_->end(*end_->outcome, end_->outcomeText.data(), endedUtc_);
            end_.reset();
            runOpen_ = false;
        } else {
            writer_->commit();
        }
        if (failing_.exchange(false))
            remark(Severity::Info, "the run log is written again, nothing is missing");
    } catch (const RunLogError& error) {
        if (!failing_.exchange(true))
            remark(Severity::Warning,
                   std::string("the run log cannot be written, the run is kept in memory: ") + error.what());
    }
}

} // namespace stripwright
