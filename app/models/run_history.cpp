#include "models/run_history.h"

#include "models/simulated_hands.h"

#include "rules/wording.h"
#include "runlog/run_log.h"

#include <QCoreApplication>
#include <QDateTime>
#include <QLocale>

#include <algorithm>
#include <set>

namespace stripwright {

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("run_history", text);
}

QString whenText(const std::string& utc)
{
    const QDateTime at = QDateTime::fromString(QString::fromStdString(utc), Qt::ISODateWithMs);
    return at.isValid() ? QLocale().toString(at.toLocalTime(), QStringLiteral("d MMM yyyy, HH:mm"))
                        : QString::fromStdString(utc);
}

QString sitesOf(const HeatPlan& plan)
{
    return QString::fromStdString(sitesInWords(plan.sheet.targets()));
}

} // namespace

HeatOfJob heatOfJob(const HeatPlan& plan)
{
    return {plan.sheet.title,     plan.sheet.strip.id, plan.sheet.heat,
            plan.sheet.targets(), plan.heat,           plan.ofHeats};
}

HeatsDone heatsDone(const JobPlan& job, std::vector<CompletedRun> runs)
{
    std::ranges::stable_sort(runs, {}, &CompletedRun::startedUtc);
    std::vector<HeatOfJob> heats;
    for (const HeatPlan& plan : job.heats)
        heats.push_back(heatOfJob(plan));
    HeatsDone done(heats.size());
    for (const CompletedRun& run : runs) {
        const auto found = std::ranges::find(heats, run.heat);
        if (found == heats.end())
            continue;
        const auto at = done.begin() + (found - heats.begin());
        if (!at->empty())
            std::fill(at, done.end(), std::string());
        *at = run.startedUtc;
    }
    return done;
}

QString outOfOrder(const JobPlan& job, size_t heat, const HeatsDone& done)
{
    if (job.heats.size() < 2 || heat >= job.heats.size() || done.size() != job.heats.size())
        return {};
    const HeatPlan& now = job.heats[heat];
    if (!done[heat].empty())
        return say("Heat %1 of %2 was run to its end already: %3. It is meant to be run once more, or on "
                   "another strip.")
            .arg(now.heat)
            .arg(now.ofHeats)
            .arg(whenText(done[heat]));
    const HeatPlan* lacks = nullptr;
    for (size_t i = 0; i < heat; ++i) {
        const bool bares = now.sheet.heat == HeatKind::Fit && job.heats[i].sheet.heat == HeatKind::Remove;
        if (done[i].empty() && (!lacks || bares))
            lacks = &job.heats[i];
    }
    if (!lacks)
        return {};
    if (now.sheet.heat == HeatKind::Fit && lacks->sheet.heat == HeatKind::Remove)
        return say("Heat %1, which takes the old LEDs off at %2, has not been run to its end. This one fits "
                   "new LEDs: the pads at %3 are bare and clean all the same.")
            .arg(lacks->heat)
            .arg(sitesOf(*lacks), sitesOf(now));
    return say("Heat %1 (%2) has not been run to its end, and is meant to come before heat %3.")
        .arg(lacks->heat)
        .arg(sitesOf(*lacks))
        .arg(now.heat);
}

std::vector<CompletedRun> completedRuns(const std::filesystem::path& file, const std::string& title,
                                        bool rehearsals)
{
    std::vector<CompletedRun> runs;
    if (!std::filesystem::exists(file))
        return runs;
    const RunReader reader(file);
    for (const RunSummary& summary : reader.runs())
        if (summary.outcome == Outcome::Completed && summary.title == title)
            try {
                const RecordedRun run = reader.read(summary.key);
                if (rehearsals || !handsWereSimulated(run.events))
                    runs.push_back({heatOfJob(readHeatPlan(run.planText, "plan")), summary.startedUtc});
            } catch (const std::exception&) { // of another version: it tells nothing here
            }
    return runs;
}

QString outOfOrder(const HeatPlan& now, std::vector<CompletedRun> runs)
{
    JobPlan job{now.sheet, {}};
    for (int heat = 1; heat <= now.ofHeats; ++heat) {
        job.heats.push_back(now);
        job.heats.back().heat = heat;
    }
    const HeatOfJob mine = heatOfJob(now);
    std::erase_if(runs, [&](const CompletedRun& run) {
        return run.heat.title != mine.title || run.heat.strip != mine.strip ||
               run.heat.ofHeats != mine.ofHeats;
    });
    std::string anotherSinceUtc; // a heat of this number with other sites: that was another job
    std::set<int> bared;
    bool bares = false;
    for (const CompletedRun& run : runs)
        if (run.heat.heat == mine.heat && run.heat != mine)
            anotherSinceUtc = std::max(anotherSinceUtc, run.startedUtc);
    std::vector<CompletedRun> ofJob;
    for (CompletedRun& run : runs) { // what the other heats do is not known here, only how many there are
        if (run.startedUtc <= anotherSinceUtc)
            continue;
        if (run.heat.kind == HeatKind::Remove) {
            bares = true;
            bared.insert(run.heat.targets.begin(), run.heat.targets.end());
        }
        run.heat.kind = mine.kind;
        run.heat.targets = mine.targets;
        ofJob.push_back(std::move(run));
    }
    const HeatsDone done = heatsDone(job, std::move(ofJob));
    const auto at = static_cast<size_t>(now.heat - 1);
    if (done.size() < 2 || at >= done.size())
        return {};
    if (!done[at].empty())
        return outOfOrder(job, at, done);
    std::vector<int> lacking;
    for (int heat = 1; heat < now.heat; ++heat)
        if (done[static_cast<size_t>(heat - 1)].empty())
            lacking.push_back(heat);
    if (lacking.empty()) {
        std::vector<int> soldered;
        std::ranges::copy_if(mine.targets, std::back_inserter(soldered),
                             [&](int site) { return !bared.contains(site); });
        if (now.sheet.heat != HeatKind::Fit || !bares || soldered.empty())
            return {};
        return say("By the run log no heat has taken the old LEDs off at %1. A fit needs bare and clean "
                   "pads.")
            .arg(QString::fromStdString(sitesInWords(soldered)));
    }
    return (lacking.size() == 1
                ? say("Heat %1 of %2 has not been run to its end by the run log, and is meant to come before "
                      "heat %3.")
                : say("Heats %1 of %2 have not been run to their ends by the run log, and are meant to come "
                      "before heat %3."))
               .arg(QString::fromStdString(siteList(lacking)))
               .arg(now.ofHeats)
               .arg(now.heat) +
           (now.sheet.heat == HeatKind::Fit ? say(" A fit needs bare and clean pads.") : QString());
}

QString heatText(const HeatPlan& plan)
{
    if (plan.ofHeats < 2)
        return {};
    return say("Heat %1 of %2: %3 at %4")
        .arg(plan.heat)
        .arg(plan.ofHeats)
        .arg(QString::fromStdString(inWords(plan.sheet.heat)), sitesOf(plan));
}

QString heatOfJobText(const HeatPlan& plan)
{
    if (plan.ofHeats > 1) {
        QString text = heatText(plan);
        text[0] = text[0].toLower();
        return text;
    }
    const QString kind = QString::fromStdString(inWords(plan.sheet.heat));
    return plan.sheet.targets().empty() ? kind : say("%1 at %2").arg(kind, sitesOf(plan));
}

RunHistory::RunHistory(std::filesystem::path file, QObject* parent) : QObject(parent), file_(std::move(file))
{
    worker_.setMaxThreadCount(1);
    worker_.setThreadPriority(QThread::IdlePriority);
}

RunHistory::~RunHistory()
{
    worker_.waitForDone();
}

void RunHistory::read()
{
    again_ = reading_;
    if (reading_)
        return;
    reading_ = true;
    worker_.start([this, known = known_] {
        std::vector<std::pair<std::string, Found>> fresh;
        try {
            if (std::filesystem::exists(file_)) {
                const RunReader reader(file_);
                for (const RunSummary& summary : reader.runs()) {
                    if (!summary.outcome || known.contains(summary.key))
                        continue;
                    Found found;
                    try {
                        RecordedRun run = reader.read(summary.key);
                        if (summary.outcome == Outcome::Completed)
                            found.completed = {heatOfJob(readHeatPlan(run.planText, "plan")),
                                               summary.startedUtc};
                        found.events = std::move(run.events);
                    } catch (const std::exception&) { // of another version: it tells nothing here
                    }
                    fresh.emplace_back(summary.key, std::move(found));
                }
            }
        } catch (const std::exception&) { // Look back says what is wrong with the log
        }
        QMetaObject::invokeMethod(this, [this, fresh = std::move(fresh)]() mutable {
            reading_ = false;
            bool any = false;
            for (auto& [key, found] : fresh)
                if (!known_.contains(key)) {
                    add(key, std::move(found));
                    any = true;
                }
            if (any)
                emit changed();
            if (again_)
                read();
        });
    });
}

// "20260301100000-7" is of the run that was started on 2026-03-01T10:00:00Z.
static std::string startedUtcOf(const std::string& key)
{
    constexpr std::string_view shape = "yyyy-MM-ddThh:mm:ssZ";
    const std::string digits = key.substr(0, key.find('-'));
    std::string utc(shape);
    size_t taken = 0;
    for (char& c : utc)
        if (c != '-' && c != 'T' && c != ':' && c != 'Z')
            c = taken < digits.size() ? digits[taken++] : '?';
    const bool fits =
        taken == digits.size() && QDateTime::fromString(QString::fromStdString(utc), Qt::ISODate).isValid();
    return fits ? utc : QDateTime::currentDateTimeUtc().toString(Qt::ISODate).toStdString();
}

void RunHistory::take(const std::string& key, const HeatPlan& plan, bool completed,
                      const std::vector<Event>& events)
{
    if (key.empty() || known_.contains(key))
        return;
    Found found;
    found.events = events;
    if (completed)
        found.completed = {heatOfJob(plan), startedUtcOf(key)};
    add(key, std::move(found));
    emit changed();
}

void RunHistory::add(const std::string& key, Found found)
{
    known_.insert(key);
    addPersonsHands(found.events, hands_);
    if (found.completed)
        completed_.push_back(std::move(*found.completed));
}

} // namespace stripwright
