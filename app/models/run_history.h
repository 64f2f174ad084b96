#pragma once

#include "models/measured_hands.h"
#include "planner/job_plan.h"

#include <QObject>
#include <QString>
#include <QThreadPool>

#include <filesystem>
#include <set>

namespace stripwright {

/// What tells a heat of a job from any other. Not its curve: a job planned anew is the same job.
struct HeatOfJob {
    std::string title, strip;
    HeatKind kind = HeatKind::Swap;
    std::vector<int> targets;
    int heat = 1, ofHeats = 1;
    bool operator==(const HeatOfJob&) const = default;
};
HeatOfJob heatOfJob(const HeatPlan& plan);

/// When each heat of a job was run to its end [UTC, as recorded]; empty: it was not.
using HeatsDone = std::vector<std::string>;

/// A run that was completed.
struct CompletedRun {
    HeatOfJob heat;
    std::string startedUtc;
};
/// A heat that is run once more begins the job anew from there, on another strip or to mend: it is done, the
/// later ones are not yet.
HeatsDone heatsDone(const JobPlan& job, std::vector<CompletedRun> runs);

/// What is to be known before this heat is started; empty: all is in order. Each asks to be confirmed.
QString outOfOrder(const JobPlan& job, size_t heat, const HeatsDone& done);
/// The same of a heat that comes alone, by number: of its job only title, strip and number of heats are
/// known.
QString outOfOrder(const HeatPlan& now, std::vector<CompletedRun> runs);
/// Runs of that title in a run log, those without a strip only if `rehearsals`; no file: none. Throws
/// RunLogError.
std::vector<CompletedRun> completedRuns(const std::filesystem::path& file, const std::string& title,
                                        bool rehearsals);
QString heatText(const HeatPlan& plan); ///< "Heat 2 of 3: remove at sites 3, 7"; empty for a job of one heat.
/// "heat 2 of 3: remove at sites 3, 7", for a job of one heat "swap at site 6".
QString heatOfJobText(const HeatPlan& plan);

/// What ended runs of a run log say about the work ahead. Each run is read once, off the calling thread.
class RunHistory : public QObject {
    Q_OBJECT
public:
    explicit RunHistory(std::filesystem::path file, QObject* parent = nullptr);
    ~RunHistory() override;

    void read(); ///< Takes what the log has more; changed() follows if that is anything. No file: nothing.
    /// A run that has ended just now, whose end may not be in the log yet. Its key tells when it was started.
    void take(const std::string& key, const HeatPlan& plan, bool completed, const std::vector<Event>& events);

    const MeasuredHands& hands() const { return hands_; }
    HeatsDone doneOf(const JobPlan& job) const { return heatsDone(job, completed_); }

signals:
    void changed();

private:
    struct Found {
        std::optional<CompletedRun> completed;
        std::vector<Event> events; // of its cards
    };
    void add(const std::string& key, Found found);

    std::filesystem::path file_;
    QThreadPool worker_;
    std::set<std::string> known_;
    MeasuredHands hands_;
    std::vector<CompletedRun> completed_;
    bool reading_ = false, again_ = false;
};

} // namespace stripwright
