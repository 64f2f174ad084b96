#include "sheet/sheet_place.h"

#include "models/plan_verdict.h"
#include "models/sites_table.h"
#include "models/wording.h"
#include "sheet/notes_column.h"
#include "sheet/sheet_edit.h"
#include "sheet/sheet_form.h"
#include "widgets/file_question.h"
#include "widgets/heat_row.h"
#include "widgets/look.h"
#include "widgets/message_line.h"
#include "widgets/strip_drawing.h"

#include <QAction>
#include <QFileInfo>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLineEdit>
#include <QPushButton>
#include <QTableView>

#include <cmath>

namespace stripwright {

SheetPlace::SheetPlace(SheetModel& model, QWidget* parent) : QWidget(parent), model_(model)
{
    title_ = new QLineEdit;
    title_->setObjectName("sheetTitle");
    title_->setFont(typeFont(Type::Title));
    title_->setAccessibleName(tr("Title of the bench sheet"));
    title_->setPlaceholderText(tr("Title of the bench sheet"));
    file_ = words({}, Type::Secondary, true);
    message_ = new MessageLine;
    message_->setObjectName("sheetMessage");
    strip_ = new StripDrawing;
    heats_ = new HeatRow;
    form_ = new SheetForm(model.shelf());
    connect(&model, &SheetModel::shelfChanged, form_, [this] { form_->setShelf(model_.shelf()); });
    notes_ = new NotesColumn;
    sites_ = new SitesTable(this);
    verdict_ = words({});
    verdict_->setObjectName("sheetVerdict");
    verdict_->setWordWrap(true);

    const auto button = [](const QString& text) {
        auto* made = new QPushButton(text);
        made->setFocusPolicy(Qt::TabFocus);
        return made;
    };
    auto *open = button(tr("Open…")), *save = button(tr("Save…")), *undo = button(tr("Undo")),
         *redo = button(tr("Redo"));
    undo->setObjectName("undo");
    redo->setObjectName("redo");
    connect(open, &QPushButton::clicked, this, &SheetPlace::askOpen);
    connect(save, &QPushButton::clicked, this, &SheetPlace::askSave);
    connect(undo, &QPushButton::clicked, &edits_, &QUndoStack::undo);
    connect(redo, &QPushButton::clicked, &edits_, &QUndoStack::redo);
    undo->setEnabled(false);
    redo->setEnabled(false);
    connect(&edits_, &QUndoStack::canUndoChanged, undo, &QPushButton::setEnabled);
    connect(&edits_, &QUndoStack::canRedoChanged, redo, &QPushButton::setEnabled);
    connect(&edits_, &QUndoStack::undoTextChanged, undo, [undo](const QString& text) {
        undo->setToolTip(text.isEmpty() ? QString() : tr("Undo: %1 (Ctrl+Z)").arg(text));
    });
    connect(&edits_, &QUndoStack::redoTextChanged, redo, [redo](const QString& text) {
        redo->setToolTip(text.isEmpty() ? QString() : tr("Redo: %1 (Ctrl+Shift+Z)").arg(text));
    });
    connect(&edits_, &QUndoStack::cleanChanged, this, &SheetPlace::showSheet);

    auto* head = new QHBoxLayout;
    head->setSpacing(space::s);
    head->addWidget(title_, 1);
    for (QPushButton* made : {open, save, undo, redo})
        head->addWidget(made);

    auto* keys = words(
        tr("Arrows choose a site, Space marks it to replace, L changes its lens. Down chooses the plate."),
        Type::Secondary, true);
    keys->setWordWrap(true);
    auto* under = new QHBoxLayout;
    under->addWidget(keys, 1);
    under->addWidget(file_);

    auto* left = new QVBoxLayout;
    left->setSpacing(space::xs);
    left->addWidget(form_);
    left->addWidget(sitesView(), 1);
    auto* right = new QVBoxLayout;
    right->setSpacing(space::s);
    right->addWidget(words(tr("What this means"), Type::Title));
    right->addWidget(verdict_);
    right->addWidget(notes_, 1);
    auto* below = new QHBoxLayout;
    below->setSpacing(space::xl);
    below->addLayout(left, 2);
    below->addLayout(right, 1);

    auto* page = new QVBoxLayout(this);
    page->setContentsMargins(space::l, space::m, space::l, space::m);
    page->setSpacing(space::s);
    page->addLayout(head);
    page->addWidget(message_);
    page->addWidget(heats_);
    page->addWidget(strip_);
    page->addLayout(under);
    page->addLayout(below, 1);

    connect(title_, &QLineEdit::editingFinished, this, [this] {
        const std::string text = title_->text().trimmed().toStdString();
        if (text.empty() || text == model_.sheet().title) {
            title_->setText(QString::fromStdString(model_.sheet().title));
            return;
        }
        BenchSheet sheet = model_.sheet();
        sheet.title = text;
        edit(std::move(sheet), tr("change title"));
    });
    connect(form_, &SheetForm::wanted, this,
            [this](const BenchSheet& sheet, const QString& name) { edit(sheet, name); });
    connect(strip_, &StripDrawing::replaceToggled, this, [this](int site) {
        const bool on = model_.sheet().sites[size_t(site) - 1].state == SiteState::Good;
        edit(withReplace(model_.sheet(), {site}, on),
             on ? tr("mark %1 to replace").arg(site) : tr("keep %1").arg(site));
    });
    connect(strip_, &StripDrawing::lensToggled, this, [this](int site) {
        const LensState next = nextLensState(model_.sheet(), site);
        edit(withLens(model_.sheet(), {site}, next), lensEditText(next, QString::number(site)));
    });
    connect(strip_, &StripDrawing::plateMoved, this, [this](double startMm, bool dragging) {
        BenchSheet moved = withPlateAt(model_.sheet(), startMm);
        if (moved.plateStartMm != model_.sheet().plateStartMm)
            edit(std::move(moved), tr("move plate"), dragGesture_);
        if (!dragging)
            ++dragGesture_;
    });
    connect(heats_, &HeatRow::heatChosen, this, &SheetPlace::heatChosen);
    connect(&model_, &SheetModel::changed, this, &SheetPlace::showSheet);
    connect(&model_, &SheetModel::fileChanged, this, &SheetPlace::showSheet);
    connect(&model_, &SheetModel::opened, &edits_, &QUndoStack::clear);
    showSheet();
}

// A stack that goes away says "clean" once more, to a place whose widgets are half gone.
SheetPlace::~SheetPlace()
{
    edits_.disconnect();
}

QTableView* SheetPlace::sitesView()
{
    auto* view = new QTableView;
    view->setObjectName("sitesTable");
    view->setAccessibleName(tr("Sites of the strip"));
    view->setModel(sites_);
    view->setSelectionBehavior(QTableView::SelectRows);
    view->setEditTriggers(QTableView::NoEditTriggers);
    view->setTabKeyNavigation(false);
    view->setShowGrid(false);
    view->setMinimumHeight(90);
    view->verticalHeader()->hide();
    view->verticalHeader()->setMinimumSectionSize(10);
    view->verticalHeader()->setDefaultSectionSize(view->fontMetrics().height() + space::xs);
    view->horizontalHeader()->setSectionResizeMode(QHeaderView::ResizeToContents);
    view->horizontalHeader()->setSectionResizeMode(SitesTable::PeakColumn, QHeaderView::Stretch);
    view->horizontalHeader()->setMinimumSectionSize(
        view->fontMetrics().horizontalAdvance(QStringLiteral("comes off  ")));
    view->horizontalHeader()->setHighlightSections(false);
    return view;
}

void SheetPlace::take(const BenchSheet& sheet, const QString& name)
{
    edit(sheet, name);
}

void SheetPlace::edit(BenchSheet after, const QString& name, int gesture)
{
    if (after == model_.sheet())
        return;
    message_->say({});
    edits_.push(new SheetEdit(model_, std::move(after), name, gesture));
}

void SheetPlace::showSheet()
{
    const BenchSheet& sheet = model_.sheet();
    if (!title_->hasFocus() || !title_->isModified())
        title_->setText(QString::fromStdString(sheet.title));
    form_->showSheet(sheet);
    strip_->setSheet(sheet);
    sites_->setSheet(sheet);
    const QString name = model_.file().isEmpty() ? tr("not saved yet") : QFileInfo(model_.file()).fileName();
    file_->setText(edits_.isClean() || model_.file().isEmpty() ? name : tr("%1, changed").arg(name));
    file_->setToolTip(model_.file());
    showNotes();
}

void SheetPlace::showNotes()
{
    notes_->showNotes(notesOf(model_.sheet(), plan_.get()));
}

void SheetPlace::setJob(const std::shared_ptr<const JobPlan>& job, size_t heat, const HeatsDone& done,
                        bool planning, const QString& failure)
{
    plan_ = job ? std::shared_ptr<const HeatPlan>(job, &job->heats.at(heat)) : nullptr;
    heats_->showHeats(job, heat, done);
    strip_->setPlan(plan_);
    const bool moved = plan_ && plan_->sheet.plateStartMm != job->sheet.plateStartMm;
    strip_->setHeat(plan_ && (plan_->ofHeats > 1 || moved) && job->sheet == model_.sheet() ? plan_ : nullptr);
    sites_->setPlan(plan_);
    if (!failure.isEmpty())
        verdict_->setText(tr("No plan: %1").arg(failure));
    else if (planning || !plan_)
        verdict_->setText(tr("Planning…"));
    else
        verdict_->setText(
            verdictOf(*job) +
            (moved
                 ? (plan_->ofHeats == 1 ? tr(" The plate lies from %1 mm in it, not from the sheet's %2 mm.")
                                        : tr(" In heat %3 the plate lies from %1 mm, not from the sheet's "
                                             "%2 mm.")
                                              .arg(plan_->heat))
                       .arg(figure(plan_->sheet.plateStartMm, 1), figure(job->sheet.plateStartMm, 1))
                 : QString()));
    if (!planning)
        showNotes();
}

void SheetPlace::offerMeasuredHands(const MeasuredHands& measured)
{
    form_->offerMeasuredHands(measured);
}

void SheetPlace::refresh()
{
    showSheet();
}

void SheetPlace::openFile(const QString& file)
{
    const QStringList problems = model_.open(file);
    if (problems.isEmpty()) {
        message_->say({});
        edits_.clear();
        return;
    }
    message_->say(tr("%1 was not opened; the sheet here stays as it is.").arg(QFileInfo(file).fileName()) +
                  '\n' + problems.join('\n'));
}

void SheetPlace::saveFile(const QString& file)
{
    const QString problem = model_.save(file);
    message_->say(problem);
    if (problem.isEmpty())
        edits_.setClean();
    showSheet();
}

// One at a time: it stands beside the window, where a second one could be asked for.
void SheetPlace::ask(FileQuestion* question)
{
    if (question_)
        question_->close();
    question_ = question;
    question->show();
}

void SheetPlace::askOpen()
{
    auto* question =
        new FileQuestion(this, tr("Open a bench sheet"), QFileInfo(model_.file()).path(),
                         tr("Bench sheets (*.bench.json);;All files (*)"), FileQuestion::For::Opening);
    connect(question, &QFileDialog::fileSelected, this, &SheetPlace::openFile);
    ask(question);
}

void SheetPlace::askSave()
{
    auto* question =
        new FileQuestion(this, tr("Save the bench sheet"), model_.file(), tr("Bench sheets (*.bench.json)"),
                         FileQuestion::For::Saving, model_.file());
    question->setDefaultSuffix("bench.json");
    connect(question, &QFileDialog::fileSelected, this, &SheetPlace::saveFile);
    ask(question);
}

} // namespace stripwright
