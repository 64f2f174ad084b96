#include "models/recorded_runs.h"

#include "messages/running.h"

namespace stripwright {

static bool someoneWritesTo(const std::filesystem::path& file)
{
    try {
        for (const RunningController& one : runningControllers())
            if (std::error_code ignored; std::filesystem::equivalent(one.runsFile, file, ignored))
                return true;
    } catch (const std::exception&) { // none can be found
    }
    return false;
}

RecordedRuns::RecordedRuns(std::filesystem::path file, QObject* parent)
    : QObject(parent), file_(std::move(file))
{
    worker_.setMaxThreadCount(1);
}

RecordedRuns::~RecordedRuns()
{
    worker_.waitForDone();
}

void RecordedRuns::list()
{
    worker_.start([this] {
        std::vector<RunSummary> runs;
        QString why;
        // Before the runs are read: one that ends in between has its outcome.
        const bool writerWorks = someoneWritesTo(file_);
        try {
            if (std::filesystem::exists(file_))
                runs = RunReader(file_).runs();
        } catch (const std::exception& error) {
            why = QString::fromUtf8(error.what());
        }
        QMetaObject::invokeMethod(this, [this, runs, why, writerWorks] {
            if (!why.isEmpty()) {
                emit failed(why);
                return;
            }
            runs_ = runs;
            writerWorks_ = writerWorks;
            emit listed();
        });
    });
}

void RecordedRuns::read(const std::string& key)
{
    worker_.start([this, key] {
        auto answer = std::make_shared<ReadRun>();
        QString why;
        try {
            answer->run = RunReader(file_).read(key);
            try {
                answer->plan = readHeatPlan(answer->run.planText, "plan of run " + key);
            } catch (const std::exception& error) {
                answer->planProblem = QString::fromUtf8(error.what());
            }
        } catch (const std::exception& error) {
            why = QString::fromUtf8(error.what());
        }
        QMetaObject::invokeMethod(this, [this, answer, why] {
            if (why.isEmpty())
                emit opened(answer);
            else
                emit failed(why);
        });
    });
}

} // namespace stripwright
