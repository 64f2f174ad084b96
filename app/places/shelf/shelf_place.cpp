#include "shelf/shelf_place.h"

#include "models/shelf_table.h"
#include "widgets/look.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QListWidget>
#include <QRegularExpression>
#include <QSortFilterProxyModel>
#include <QTableView>

namespace stripwright {

ShelfPlace::ShelfPlace(const Shelf& shelf, const QString& userFolder, QWidget* parent) : QWidget(parent)
{
    table_ = new ShelfTable(shelf, this);
    byKind_ = new QSortFilterProxyModel(this);
    byKind_->setSourceModel(table_);
    byKind_->setFilterKeyColumn(ShelfTable::KindColumn);
    bySearch_ = new QSortFilterProxyModel(this);
    bySearch_->setSourceModel(byKind_);
    bySearch_->setFilterRole(ShelfTable::SearchRole);
    bySearch_->setFilterCaseSensitivity(Qt::CaseInsensitive);

    search_ = new QLineEdit;
    search_->setObjectName("shelfSearch");
    search_->setPlaceholderText(tr("Search names, figures, sources"));
    search_->setAccessibleName(tr("Search the shelf"));
    search_->setClearButtonEnabled(true);
    count_ = words({}, Type::Secondary, true);
    auto* kinds = new QListWidget;
    kinds->setAccessibleName(tr("Kind of entry"));
    kinds->setFixedWidth(140);
    kinds->setSpacing(space::xs / 2);
    kinds->addItem(tr("all kinds"));
    kinds->addItems(table_->kinds());

    view_ = new QTableView;
    view_->setObjectName("shelfTable");
    view_->setAccessibleName(tr("Shelf entries"));
    view_->setModel(bySearch_);
    view_->setSelectionBehavior(QTableView::SelectRows);
    view_->setSelectionMode(QTableView::SingleSelection);
    view_->setEditTriggers(QTableView::NoEditTriggers);
    view_->setTabKeyNavigation(false);
    view_->setShowGrid(false);
    view_->setWordWrap(false);
    view_->setSortingEnabled(true);
    view_->sortByColumn(-1, Qt::AscendingOrder);
    view_->verticalHeader()->hide();
    view_->verticalHeader()->setDefaultSectionSize(view_->fontMetrics().height() + space::s);
    view_->horizontalHeader()->setHighlightSections(false);
    view_->horizontalHeader()->setStretchLastSection(true);
    view_->resizeColumnsToContents();
    view_->setColumnWidth(ShelfTable::NameColumn, std::min(view_->columnWidth(ShelfTable::NameColumn), 280));
    view_->setColumnWidth(ShelfTable::FiguresColumn,
                          std::min(view_->columnWidth(ShelfTable::FiguresColumn), 420));

    name_ = words({}, Type::Title);
    detail_ = words({});
    source_ = words({}, Type::Base, true);
    for (QLabel* label : {name_, detail_, source_}) {
        label->setWordWrap(true);
        label->setTextInteractionFlags(Qt::TextSelectableByMouse);
    }
    auto* own = words(tr("Entries of your own stand as files of the same shape in %1.").arg(userFolder),
                      Type::Secondary, true);
    own->setWordWrap(true);
    own->setTextInteractionFlags(Qt::TextSelectableByMouse);
    own->setVisible(!userFolder.isEmpty());

    auto* head = new QHBoxLayout;
    head->setSpacing(space::m);
    head->addWidget(words(tr("Shelf"), Type::Title));
    head->addWidget(search_, 1);
    head->addWidget(count_);
    auto* middle = new QHBoxLayout;
    middle->setSpacing(space::m);
    middle->addWidget(kinds);
    middle->addWidget(view_, 1);
    auto* card = new QFrame;
    card->setProperty("tone", "card");
    auto* cardColumn = new QVBoxLayout(card);
    cardColumn->setContentsMargins(space::l, space::m, space::l, space::m);
    cardColumn->setSpacing(space::xs);
    for (QLabel* label : {name_, detail_, source_})
        cardColumn->addWidget(label);
    auto* page = new QVBoxLayout(this);
    page->setContentsMargins(space::l, space::l, space::l, space::m);
    page->setSpacing(space::s);
    page->addLayout(head);
    page->addLayout(middle, 1);
    page->addWidget(card);
    page->addWidget(own);

    connect(search_, &QLineEdit::textChanged, this, [this](const QString& text) {
        bySearch_->setFilterFixedString(text.trimmed());
        tellCount();
        view_->selectRow(0);
    });
    connect(kinds, &QListWidget::currentRowChanged, this, [this, kinds](int row) {
        const QString kind = row > 0 ? kinds->item(row)->text() : QString();
        byKind_->setFilterRegularExpression(
            kind.isEmpty() ? QString() : QStringLiteral("^%1$").arg(QRegularExpression::escape(kind)));
        tellCount();
        view_->selectRow(0);
    });
    connect(view_->selectionModel(), &QItemSelectionModel::currentRowChanged, this, &ShelfPlace::showChosen);
    kinds->setCurrentRow(0);
    tellCount();
    view_->selectRow(0);
}

void ShelfPlace::setShelf(const Shelf& shelf)
{
    table_->setShelf(shelf);
    tellCount();
    view_->selectRow(0);
}

void ShelfPlace::tellCount()
{
    const int count = bySearch_->rowCount();
    count_->setText(count == 1 ? tr("1 entry") : tr("%1 entries").arg(count));
}

void ShelfPlace::showChosen()
{
    const QModelIndex chosen = view_->currentIndex();
    const auto text = [&](int column) { return bySearch_->index(chosen.row(), column).data().toString(); };
    name_->setText(chosen.isValid() ? text(ShelfTable::NameColumn) : tr("No entry found"));
    detail_->setText(chosen.isValid()
                         ? tr("%1 %2: %3")
                               .arg(text(ShelfTable::KindColumn), chosen.data(ShelfTable::IdRole).toString(),
                                    text(ShelfTable::FiguresColumn))
                         : QString());
    source_->setText(chosen.isValid()
                         ? tr("Standing: %1. Source: %2")
                               .arg(text(ShelfTable::HabitColumn), text(ShelfTable::SourceColumn))
                         : QString());
}

} // namespace stripwright
