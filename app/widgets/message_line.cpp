#include "widgets/message_line.h"

#include "widgets/look.h"

#include <QAccessible>
#include <QStyle>

namespace stripwright {

MessageLine::MessageLine(QWidget* parent) : QLabel(parent)
{
    setTextFormat(Qt::PlainText);
    setWordWrap(true);
    setMargin(space::s);
    setTextInteractionFlags(Qt::TextSelectableByMouse);
    hide();
}

void MessageLine::say(const QString& words, Tone tone)
{
    const QString text = words.isEmpty() || tone == Tone::Plain ? words : QStringLiteral("▲ ") + words;
    if (text == this->text() && isVisibleTo(parentWidget()) == !text.isEmpty())
        return;
    setProperty("tone", tone == Tone::Abnormal ? "abnormal" : "message");
    style()->unpolish(this);
    style()->polish(this);
    setText(text);
    updateGeometry();
    setVisible(!text.isEmpty());
    if (!text.isEmpty()) {
        QAccessibleEvent alert(this, QAccessible::Alert);
        QAccessible::updateAccessibility(&alert);
    }
}

} // namespace stripwright
