#include "look_back/look_back_place.h"

#include "models/hand_work.h"
#include "models/margin_table.h"
#include "models/run_review.h"
#include "models/wording.h"
#include "widgets/curve_view.h"
#include "widgets/look.h"
#include "widgets/margin_ladder.h"
#include "widgets/message_line.h"
#include "widgets/plan_plot.h"
#include "widgets/wrapped_list.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QScrollBar>
#include <QSplitter>

#include <algorithm>
#include <chrono>

namespace stripwright {

namespace {

constexpr size_t mostGhosts = 5;
constexpr auto lookAgainEvery = std::chrono::seconds(5); // at a run that goes on

// The curve runs are compared by: a target's joint if it was recorded, else the estimate, else the plate.
const RunCurve* leadingCurve(const std::vector<RunCurve>& curves)
{
    const auto of = [&](std::optional<StationKind> kind) {
        const auto found = std::ranges::find_if(curves, [&](const RunCurve& curve) {
            return kind ? curve.station && curve.station->kind == *kind : !curve.station;
        });
        return found == curves.end() ? nullptr : &*found;
    };
    if (const RunCurve* joint = of(StationKind::Joint))
        return joint;
    if (const RunCurve* estimate = of(std::nullopt))
        return estimate;
    return of(StationKind::Plate);
}

} // namespace

LookBackPlace::LookBackPlace(RecordedRuns& runs, QWidget* parent) : QWidget(parent), runs_(runs)
{
    search_ = new QLineEdit;
    search_->setPlaceholderText(tr("Search runs"));
    search_->setAccessibleName(tr("Search runs"));
    search_->setClearButtonEnabled(true);
    list_ = new WrappedList(tr("Recorded runs"));
    list_->setObjectName("runList");
    title_ = words({}, Type::Title);
    title_->setWordWrap(true);
    outcome_ = words({}, Type::Base, true);
    outcome_->setWordWrap(true);
    message_ = new MessageLine;
    curves_ = new CurveView;
    curves_->setObjectName("runCurves");
    margins_ = new MarginTable(this);
    margins_->setValueTitle(tr("measured"));
    auto* ladder = new MarginLadder(margins_);
    over_ = words({});
    over_->setWordWrap(true);
    events_ = new WrappedList(tr("Events and notes of the run"));

    auto* left = new QVBoxLayout;
    left->setSpacing(space::s);
    left->addWidget(search_);
    left->addWidget(list_, 1);
    auto* leftBox = new QWidget;
    leftBox->setLayout(left);
    left->setContentsMargins(0, 0, 0, 0);
    leftBox->setFixedWidth(210);
    auto* figures = new QWidget;
    auto* figuresColumn = new QVBoxLayout(figures);
    figuresColumn->setContentsMargins(0, 0, 0, 0);
    figuresColumn->setSpacing(space::xs);
    figuresColumn->addWidget(ladder, 1);
    figuresColumn->addWidget(over_);
    auto* lower = new QSplitter(Qt::Horizontal);
    lower->setChildrenCollapsible(false);
    lower->addWidget(figures);
    lower->addWidget(events_);
    lower->setStretchFactor(0, 3);
    lower->setStretchFactor(1, 1);
    auto* halves = new QSplitter(Qt::Vertical);
    halves->setChildrenCollapsible(false);
    halves->addWidget(curves_);
    halves->addWidget(lower);
    halves->setStretchFactor(0, 3);
    halves->setStretchFactor(1, 2);
    halves->setSizes({430, 300});
    auto* right = new QVBoxLayout;
    right->setSpacing(space::xs);
    right->addWidget(title_);
    right->addWidget(outcome_);
    right->addWidget(message_);
    right->addSpacing(space::xs);
    right->addWidget(halves, 1);
    auto* page = new QHBoxLayout(this);
    page->setContentsMargins(space::l, space::l, space::l, space::m);
    page->setSpacing(space::m);
    page->addWidget(leftBox);
    page->addLayout(right, 1);

    connect(&runs_, &RecordedRuns::listed, this, &LookBackPlace::showList);
    connect(&runs_, &RecordedRuns::failed, this, [this](const QString& why) { message_->say(why); });
    connect(&runs_, &RecordedRuns::opened, this, [this](std::shared_ptr<const ReadRun> run) {
        const std::string key = run->run.summary.key;
        read_[key] = std::move(run);
        for (int row = 0; row < list_->count(); ++row)
            if (list_->item(row)->data(Qt::UserRole).toString().toStdString() == key)
                list_->item(row)->setText(listText(read_[key]->run.summary));
        showFocus();
    });
    connect(search_, &QLineEdit::textChanged, this, &LookBackPlace::showList);
    connect(list_, &QListWidget::currentRowChanged, this, [this] {
        const std::string key = focusKey();
        if (key.empty())
            return;
        readAnew(key);
        showFocus();
        showGhosts();
    });
    lookAgain_.setInterval(lookAgainEvery);
    connect(&lookAgain_, &QTimer::timeout, this, [this] {
        if (isVisible() &&
            std::ranges::any_of(runs_.runs(), [this](const RunSummary& run) { return runs_.goesOn(run); }))
            runs_.list();
    });
    lookAgain_.start();
    showList();
}

std::string LookBackPlace::focusKey() const
{
    const QListWidgetItem* item = list_->currentItem();
    return item ? item->data(Qt::UserRole).toString().toStdString() : std::string();
}

void LookBackPlace::enter()
{
    runs_.list();
}

void LookBackPlace::choose(const std::string& key)
{
    wantedKey_ = key;
    showList();
}

void LookBackPlace::refresh()
{
    showFocus();
}

// Which heat it was is known once its plan has been read.
QString LookBackPlace::listText(const RunSummary& run) const
{
    const auto read = read_.find(run.key);
    return QStringLiteral("%1\n%2\n%3")
        .arg(titleOf(run, read == read_.end() ? std::nullopt : read->second->plan), startedText(run),
             run.outcome         ? QString::fromUtf8(inWords(*run.outcome))
             : runs_.goesOn(run) ? tr("running now")
                                 : tr("no end recorded"));
}

void LookBackPlace::showList()
{
    const std::string before = wantedKey_.empty() ? focusKey() : wantedKey_;
    const QSignalBlocker quiet(list_);
    const int scrolledTo = list_->verticalScrollBar()->value();
    list_->clear();
    int chosen = -1;
    for (const RunSummary& run : runs_.runs()) {
        const auto read = read_.find(run.key);
        if (read != read_.end() && (read->second->run.summary.outcome != run.outcome ||
                                    read->second->run.samples.size() != size_t(run.samples)))
            old_.insert(run.key); // it was still being written
        const QString text = listText(run);
        if (!text.contains(search_->text().trimmed(), Qt::CaseInsensitive))
            continue;
        auto* item = new QListWidgetItem(text, list_);
        item->setData(Qt::UserRole, QString::fromStdString(run.key));
        if (run.key == before)
            chosen = list_->count() - 1;
    }
    if (chosen >= 0)
        wantedKey_.clear();
    list_->setCurrentRow(chosen >= 0 ? chosen : list_->count() > 0 ? 0 : -1);
    if (chosen >= 0 && before == shownKey_)
        list_->verticalScrollBar()->setValue(scrolledTo);
    readAnew(focusKey());
    showFocus();
    showGhosts();
}

// What was read before stays until it has come.
void LookBackPlace::readAnew(const std::string& key)
{
    if (!key.empty() && (old_.erase(key) > 0 || !read_.contains(key)))
        runs_.read(key);
}

void LookBackPlace::showGhosts()
{
    size_t asked = 0;
    for (const RunSummary& run : runs_.runs()) {
        if (run.key == focusKey())
            continue;
        if (++asked > mostGhosts)
            break;
        readAnew(run.key);
    }
}

void LookBackPlace::showFocus()
{
    const auto found = read_.find(focusKey());
    const ReadRun* focus = found == read_.end() ? nullptr : found->second.get();
    over_->clear();
    if (!focus) {
        events_->clear();
        shownKey_.clear();
        const bool none = runs_.runs().empty();
        title_->setText(none                  ? tr("No run has been recorded yet")
                        : list_->count() == 0 ? tr("No run matches")
                                              : tr("Reading…"));
        outcome_->setText(
            none ? tr("Runs At the plate are kept in %1.").arg(QString::fromStdString(runs_.file().string()))
                 : QString());
        message_->say({});
        curves_->setCurves({});
        curves_->setMarks({}, {}, {});
        curves_->setPoints({});
        margins_->setPlanned({});
        margins_->setRows({});
        return;
    }
    const RunSummary& summary = focus->run.summary;
    const std::vector<Sample>& samples = focus->run.samples;
    const bool goesOn = runs_.goesOn(summary);
    const QString until = clockText(samples.empty() ? 0 : samples.back().timeS);
    title_->setText(titleOf(summary, focus->plan));
    outcome_->setText(tr("%1 · %2 · %3 samples over %4")
                          .arg(startedText(summary), summary.outcome ? outcomeText(summary)
                                                     : goesOn        ? tr("running now")
                                                                     : tr("no end recorded"))
                          .arg(samples.size())
                          .arg(until));
    if (summary.outcome == Outcome::Interrupted)
        message_->say(tr("This run was interrupted. All samples that were kept until then are shown."));
    else if (goesOn)
        message_->say(tr("This run is still on. What was recorded up to %1 is shown; figures may change "
                         "until its end.")
                          .arg(until),
                      MessageLine::Tone::Plain);
    else if (!summary.outcome)
        message_->say(tr("This run has no end in its record: the controller that wrote it is gone. What was "
                         "kept until then is shown."),
                      MessageLine::Tone::Plain);
    else
        message_->say(focus->planProblem);

    PlanPlot plot;
    std::vector<PlotCurve> curves;
    for (const auto& [key, other] : read_) {
        if (key == summary.key)
            continue;
        const std::vector<RunCurve> ghosts = curvesOf(other->run.samples);
        if (const RunCurve* ghost = leadingCurve(ghosts))
            curves.push_back({tr("another run"),
                              look().muted,
                              1,
                              false,
                              true,
                              ghost->timeS,
                              ghost->valueC,
                              {},
                              {},
                              tr("other runs")});
    }
    if (focus->plan) {
        plot = plotOf(*focus->plan);
        layOverRun(plot, samples, focus->run.events);
        for (PlotCurve& curve : plot.curves) {
            if (curve.colour != look().ink && curve.colour != look().joint)
                continue;
            curve.named = false;
            curve.lowC.clear();
            curve.highC.clear();
            curve.widthPx = 1;
            curves.push_back(std::move(curve));
        }
    }
    double endS = goesOn ? std::max(60.0, plot.workEndS) : 60; // how far it has come
    for (RunCurve& run : curvesOf(samples)) {
        endS = std::max(endS, run.timeS.back());
        if (isDrawn(run, plot.curves))
            curves.push_back(plotCurveOf(std::move(run)));
    }
    curves_->setSpan(0, endS);
    curves_->setMarks(std::move(plot.limits), {}, std::move(plot.stages));
    curves_->setPoints(pointsOf(marksOf(focus->run.events)));
    curves_->setCurves(std::move(curves));

    if (focus->plan) {
        margins_->setPlanned(focus->plan->margins);
        margins_->setValueTitle(goesOn ? tr("so far") : tr("measured"));
        margins_->setRows(
            measuredRows(focus->plan->sheet, samples, focus->run.events, !goesOn, focus->plan->newLeds));
        QStringList over;
        for (const TimeOverLimit& time : timesOverLimits(focus->plan->sheet, samples))
            if (time.seconds > 0)
                over += tr("%1: %2 s").arg(QString::fromStdString(time.what), figure(time.seconds, 0));
        const std::string unsaid =
            samples.empty()
                ? std::string()
                : workInWords(passedUnsaid(focus->plan->cards, focus->run.events, samples.back().profileS));
        const std::string late = workInWords(saidLate(focus->plan->cards, focus->run.events));
        over_->setText((over.isEmpty() ? tr("No protected part was over its limit.")
                                       : tr("Over the limit: %1").arg(over.join(QStringLiteral("; ")))) +
                       (unsaid.empty() ? QString()
                                       : tr("\nNot confirmed: %1. What is judged of a new LED there takes "
                                            "the times of the plan's hands.")
                                             .arg(QString::fromStdString(unsaid))) +
                       (late.empty() ? QString()
                                     : tr("\nSaid only after its time: %1. When it was is not known: a new "
                                          "LED there is judged by the plan's hands.")
                                           .arg(QString::fromStdString(late))));
    }
    const std::vector<Event>& events = focus->run.events;
    if (shownKey_ != summary.key || events_->count() > int(events.size()))
        events_->clear(); // else it stays where it was scrolled to
    shownKey_ = summary.key;
    for (size_t i = size_t(events_->count()); i < events.size(); ++i) {
        const Event& event = events[i];
        events_->addItem((event.severity == "info" ? QString() : QStringLiteral("▲ ")) +
                         clockText(event.timeS) + "  " +
                         QString::fromStdString(eventInWords(event, focus->plan ? focus->plan->cards
                                                                                : std::vector<HandCard>())));
    }
}

} // namespace stripwright
