#include "widgets/figure_field.h"

#include <QLocale>

namespace stripwright {

FigureField::FigureField(const Of& of, QWidget* parent) : QLineEdit(parent), of_(of)
{
    setAccessibleName(of.name);
    setPlaceholderText(of.unit);
    connect(this, &QLineEdit::textChanged, this, &FigureField::changed);
    connect(this, &QLineEdit::editingFinished, this, [this] {
        const QString typed = text().trimmed();
        if (value() && !typed.isEmpty() && typed.back().isDigit() && !of_.unit.isEmpty())
            setText(typed + ' ' + of_.unit);
    });
}

void FigureField::show(std::optional<double> value)
{
    const QSignalBlocker quiet(this);
    QString figure = value ? QString::number(*value, 'g', 15) : QString();
    figure.replace('.', QLocale().decimalPoint());
    setText(value && !of_.unit.isEmpty() ? figure + ' ' + of_.unit : figure);
}

std::optional<double> FigureField::value() const
{
    QString why;
    return readQuantity(text(), of_.unit, of_.min, of_.max, why, of_.fahrenheit);
}

QString FigureField::problem() const
{
    QString why;
    if (text().trimmed().isEmpty())
        return of_.optional ? QString() : tr("%1 is missing.").arg(of_.name);
    return readQuantity(text(), of_.unit, of_.min, of_.max, why, of_.fahrenheit)
               ? QString()
               : QStringLiteral("%1: %2").arg(of_.name, why);
}

} // namespace stripwright
