#include "sheet/notes_column.h"

#include "widgets/look.h"
#include "widgets/message_line.h"

#include <QGridLayout>
#include <QScrollBar>

namespace stripwright {

NotesColumn::NotesColumn(QWidget* parent) : QScrollArea(parent)
{
    setObjectName("framed");
    setWidgetResizable(true);
    setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
    setAccessibleName(tr("What this means"));
    setFocusPolicy(Qt::TabFocus);
    setMinimumWidth(270);
}

void NotesColumn::showNotes(const std::vector<SheetNote>& notes)
{
    notes_ = notes;
    const int scrolled = verticalScrollBar()->value();
    auto* page = new QWidget;
    page->setObjectName("notesPage");
    page->setStyleSheet(QStringLiteral("QWidget#notesPage { background: %1; }").arg(look().surface.name()));
    auto* grid = new QGridLayout(page);
    grid->setContentsMargins(space::m, space::m, space::m, space::m);
    grid->setHorizontalSpacing(space::m);
    grid->setVerticalSpacing(space::s);
    grid->setColumnStretch(1, 1);
    const int topicWidth = fontMetrics().horizontalAdvance(QStringLiteral("above 138 °C")) + space::xs;
    int row = 0;
    QString told;
    for (const SheetNote& note : notes) {
        if (note.kind != SheetNote::Kind::Fact) {
            auto* message = new MessageLine;
            grid->addWidget(message, row++, 0, 1, 2);
            message->say(note.text, note.kind == SheetNote::Kind::Refusal ? MessageLine::Tone::Abnormal
                                                                          : MessageLine::Tone::Plain);
            continue;
        }
        auto* topic = words(note.topic, Type::Base, true);
        topic->setWordWrap(true);
        topic->setFixedWidth(topicWidth);
        auto* text = words(note.habit ? tr("%1 · trade habit").arg(note.text) : note.text);
        text->setWordWrap(true);
        const QString source = note.source.isEmpty() ? QString() : tr("Source: %1").arg(note.source);
        topic->setToolTip(source);
        text->setToolTip(source);
        grid->addWidget(topic, row, 0, Qt::AlignTop);
        grid->addWidget(text, row++, 1);
        if (note.habit && !source.isEmpty() && source != told) {
            told = source; // lines of one entry share their source
            auto* from = words(source, Type::Secondary, true);
            from->setWordWrap(true);
            grid->addWidget(from, row++, 1);
        }
    }
    grid->setRowStretch(row, 1);
    setWidget(page);
    verticalScrollBar()->setValue(scrolled);
    setAccessibleDescription(plainText());
}

QString NotesColumn::plainText() const
{
    QStringList lines;
    for (const SheetNote& note : notes_)
        lines += (note.topic.isEmpty() ? note.text : note.topic + ": " + note.text) +
                 (note.habit ? tr(" (trade habit)") : QString());
    return lines.join('\n');
}

} // namespace stripwright
