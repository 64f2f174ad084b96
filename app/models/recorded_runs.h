#pragma once

#include "planner/heat_plan.h"
#include "runlog/run_log.h"

#include <QObject>
#include <QThreadPool>

#include <memory>

namespace stripwright {

/// A recorded run with the plan it followed.
struct ReadRun {
    RecordedRun run;
    std::optional<HeatPlan> plan; ///< Absent if the recorded plan cannot be read; `planProblem` says why.
    QString planProblem;
};

/// The runs of one run log, read off the calling thread. A missing file is an empty list.
class RecordedRuns : public QObject {
    Q_OBJECT
public:
    explicit RecordedRuns(std::filesystem::path file, QObject* parent = nullptr);
    ~RecordedRuns() override;

    void list();
    void read(const std::string& key);                            ///< Answers with opened() or failed().
    const std::vector<RunSummary>& runs() const { return runs_; } ///< Newest first.
    /// It has no outcome yet, and a controller that keeps its runs in this file was at work when they were
    /// listed.
    bool goesOn(const RunSummary& run) const { return !run.outcome && writerWorks_; }
    const std::filesystem::path& file() const { return file_; }

signals:
    void listed();
    void opened(std::shared_ptr<const stripwright::ReadRun> run);
    void failed(const QString& why);

private:
    std::filesystem::path file_;
    QThreadPool worker_;
    std::vector<RunSummary> runs_;
    bool writerWorks_ = false;
};

} // namespace stripwright
