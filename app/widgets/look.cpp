#include "widgets/look.h"

#include <QAbstractSpinBox>
#include <QApplication>
#include <QComboBox>
#include <QEvent>
#include <QLabel>
#include <QPalette>
#include <QScreen>
#include <QStyleFactory>
#include <QWidget>

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

const Look lightLook{Theme::Light, 0xF3F3F1, 0xFFFFFF, 0x1B1D1F, 0x5C6166, 0xD4D6D8, 0x0072B2,
                     0xCC79A7,     0x009E73, 0xD55E00, 0xB3261E, 0xFFFFFF, 0x0072B2};
const Look darkLook{Theme::Dark, 0x1F2123, 0x26282B, 0xE8E8E6, 0xA5A9AD, 0x3A3D41, 0x56B4E9,
                    0xCC79A7,    0x33C29B, 0xE69F00, 0xE5534B, 0x1B1D1F, 0x56B4E9};
const Look* inForce = &lightLook;

// A wheel that scrolls a page must not change a value it passes over.
class WheelGuard : public QObject {
public:
    using QObject::QObject;
    bool eventFilter(QObject* object, QEvent* event) override
    {
        if (event->type() != QEvent::Wheel)
            return false;
        auto* widget = qobject_cast<QWidget*>(object);
        if (!widget || widget->hasFocus() ||
            !(qobject_cast<QComboBox*>(widget) || qobject_cast<QAbstractSpinBox*>(widget)))
            return false;
        event->ignore();
        return true;
    }
};

QPalette paletteOf(const Look& l)
{
    QPalette palette;
    palette.setColor(QPalette::Window, l.window);
    palette.setColor(QPalette::WindowText, l.ink);
    palette.setColor(QPalette::Base, l.surface);
    palette.setColor(QPalette::AlternateBase, l.window);
    palette.setColor(QPalette::Text, l.ink);
    palette.setColor(QPalette::PlaceholderText, l.muted);
    palette.setColor(QPalette::Button, l.window);
    palette.setColor(QPalette::ButtonText, l.ink);
    palette.setColor(QPalette::ToolTipBase, l.surface);
    palette.setColor(QPalette::ToolTipText, l.ink);
    palette.setColor(QPalette::Highlight, l.line);
    palette.setColor(QPalette::HighlightedText, l.ink);
    palette.setColor(QPalette::Mid, l.line);
    palette.setColor(QPalette::Dark, l.line);
    for (auto role : {QPalette::WindowText, QPalette::Text, QPalette::ButtonText})
        palette.setColor(QPalette::Disabled, role, l.muted);
    return palette;
}

QString sheetOf(const Look& l)
{
    QString sheet = QStringLiteral(R"(
QPushButton { border: 1px solid @line; border-radius: 4px; padding: 4px 12px; background: @surface; color: @ink; }
QPushButton:hover { border-color: @muted; }
QPushButton:pressed, QPushButton:checked { background: @line; }
QPushButton:disabled { color: @muted; background: @window; }
QPushButton:focus { border-color: @focus; }
QPushButton#start { font-weight: bold; border: 1px solid @ink; }
QPushButton#start:disabled { border-color: @line; }
QComboBox, QLineEdit { border: 1px solid @line; border-radius: 4px; padding: 3px 6px; background: @surface; color: @ink; }
QComboBox:focus, QLineEdit:focus { border-color: @focus; }
QComboBox { padding-right: 20px; }
QComboBox::drop-down { border: none; width: 20px; }
QComboBox QAbstractItemView { background: @surface; border: 1px solid @line; }
QTableView, QListView, QTreeView, QScrollArea#framed { border: 1px solid @line; background: @surface; }
QTableView::item { padding: 0 5px; border: 0px solid transparent; }
QTableView::item:selected, QListView::item:selected { background: @line; color: @ink; }
QTableView, QListView { selection-background-color: @line; selection-color: @ink; outline: none; }
QTableView:focus, QListView:focus { border-color: @focus; }
QHeaderView { background: @surface; }
QHeaderView::section { background: @surface; color: @muted; border: none; border-bottom: 1px solid @line; padding: 4px 8px; }
QLabel[tone="muted"] { color: @muted; }
QFrame[tone="message"] { background: @surface; border: 1px solid @line; border-radius: 4px; }
QFrame[tone="abnormal"] { background: @abnormal; color: @onAbnormal; border-radius: 4px; }
QFrame[tone="abnormal"] QLabel { color: @onAbnormal; }
QFrame[tone="card"] { background: @surface; border: 1px solid @line; border-radius: 4px; }
QWidget#rail { background: @window; border-right: 1px solid @line; }
QPushButton[tone="rail"] { border: none; border-radius: 4px; text-align: left; padding: 8px 12px; background: transparent; }
QPushButton[tone="rail"]:hover { background: @line; }
QPushButton[tone="rail"]:checked { background: @surface; border: 1px solid @line; font-weight: bold; }
QPushButton[tone="rail"]:focus { border: 1px solid @focus; }
QWidget#baseLine { border-top: 1px solid @line; background: @window; }
QToolTip { background: @surface; color: @ink; border: 1px solid @line; padding: 4px; }
QSplitter::handle { background: transparent; }
QScrollBar:vertical { background: transparent; width: 10px; }
QScrollBar::handle:vertical { background: @line; border-radius: 4px; min-height: 24px; margin: 1px; }
QScrollBar:horizontal { background: transparent; height: 10px; }
QScrollBar::handle:horizontal { background: @line; border-radius: 4px; min-width: 24px; margin: 1px; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
)");
    // longest names first: "@onAbnormal" before a name that begins it
    const std::pair<const char*, QColor> names[] = {{"@onAbnormal", l.onAbnormal},
                                                    {"@abnormal", l.abnormal},
                                                    {"@surface", l.surface},
                                                    {"@window", l.window},
                                                    {"@muted", l.muted},
                                                    {"@focus", l.focus},
                                                    {"@line", l.line},
                                                    {"@ink", l.ink}};
    for (const auto& [name, colour] : names)
        sheet.replace(QLatin1String(name), colour.name());
    return sheet;
}

} // namespace

const Look& look()
{
    return *inForce;
}

Theme desktopTheme()
{
    const QPalette palette = QApplication::palette();
    return palette.color(QPalette::WindowText).lightness() > palette.color(QPalette::Window).lightness()
               ? Theme::Dark
               : Theme::Light;
}

void useTheme(Theme theme)
{
    static WheelGuard* guard = nullptr;
    inForce = theme == Theme::Dark ? &darkLook : &lightLook;
    QApplication::setStyle(QStyleFactory::create(QStringLiteral("Fusion")));
    QApplication::setPalette(paletteOf(*inForce));
    qApp->setStyleSheet(sheetOf(*inForce));
    if (!guard || guard->parent() != qApp) {
        guard = new WheelGuard(qApp);
        qApp->installEventFilter(guard);
    }
}

QFont typeFont(Type type)
{
    QFont font = QApplication::font();
    const double base = font.pointSizeF() > 0 ? font.pointSizeF() : 10;
    switch (type) {
    case Type::Secondary:
        font.setPointSizeF(base * 0.9);
        break;
    case Type::Base:
        break;
    case Type::Title:
        font.setPointSizeF(base * 1.3);
        break;
    case Type::LiveValue:
        font.setPointSizeF(base * 2.2);
        break;
    }
    return font;
}

QLabel* words(const QString& text, Type type, bool muted, QWidget* parent)
{
    auto* label = new QLabel(text, parent);
    label->setTextFormat(Qt::PlainText);
    label->setFont(typeFont(type));
    if (muted)
        label->setProperty("tone", "muted");
    return label;
}

int pixelsOf(double mm, const QWidget* widget)
{
    const double dpi = std::clamp(widget->screen()->physicalDotsPerInch(), 72.0, 300.0);
    return int(std::lround(mm / 25.4 * dpi));
}

} // namespace stripwright
