#include "widgets/alarm_line.h"

#include "widgets/look.h"

#include <QAccessible>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QStyle>

namespace stripwright {

AlarmLine::AlarmLine(const QString& objectName, QWidget* parent) : QFrame(parent)
{
    setObjectName(objectName);
    setProperty("tone", "abnormal");
    words_ = words({}, Type::Title);
    words_->setObjectName(objectName + "Text");
    words_->setWordWrap(true);
    words_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    row_ = new QHBoxLayout(this);
    row_->setContentsMargins(space::l, space::xs, space::s, space::xs);
    row_->setSpacing(space::s);
    row_->addWidget(words_, 1);
    hide();
}

QPushButton* AlarmLine::addButton(const QString& text, const char* objectName)
{
    auto* button = new QPushButton(text);
    button->setObjectName(objectName);
    button->setAutoDefault(false);
    button->setMinimumHeight(pixelsOf(9, this));
    row_->addWidget(button);
    return button;
}

void AlarmLine::say(const QString& text, bool calm)
{
    const QString tone = calm ? QStringLiteral("message") : QStringLiteral("abnormal");
    if (property("tone") != tone) {
        setProperty("tone", tone);
        for (QWidget* part : {static_cast<QWidget*>(this), static_cast<QWidget*>(words_)}) {
            part->style()->unpolish(part);
            part->style()->polish(part);
        }
    }
    const bool isNew = text != text_;
    text_ = text;
    if (isNew)
        words_->setText(text.isEmpty() ? QString() : QStringLiteral("▲ ") + text);
    setVisible(!text.isEmpty());
    if (!isNew || text.isEmpty())
        return;
    setAccessibleName(text);
    QAccessibleEvent alert(this, QAccessible::Alert);
    QAccessible::updateAccessibility(&alert);
}

} // namespace stripwright
