#include "models/quantity.h"

#include <QCoreApplication>
#include <QLocale>

#include <cmath>

namespace stripwright {

static QString say(const char* text)
{
    return QCoreApplication::translate("quantity", text);
}

QString shortFigure(double value)
{
    QString text = QString::number(value, 'f', 3);
    while (text.endsWith('0'))
        text.chop(1);
    if (text.endsWith('.'))
        text.chop(1);
    if (text == QLatin1String("-0"))
        text = QStringLiteral("0");
    return text.replace('.', QLocale().decimalPoint());
}

std::optional<double> readQuantity(const QString& typed, const QString& unit, double min, double max,
                                   QString& why, Fahrenheit takes)
{
    QString text = typed.trimmed();
    text.replace(QChar(0x2212), '-');
    bool fahrenheit = false;
    if (unit == QStringLiteral("°C"))
        for (const char* suffix : {"°C", "C", "°F", "F"})
            if (text.endsWith(QString::fromUtf8(suffix), Qt::CaseInsensitive)) {
                fahrenheit = suffix[std::char_traits<char>::length(suffix) - 1] == 'F';
                text.chop(QString::fromUtf8(suffix).size());
                break;
            }
    if (text.endsWith(unit, Qt::CaseInsensitive))
        text.chop(unit.size());
    text = text.trimmed();
    bool ok = false;
    double value = QLocale::c().toDouble(text, &ok);
    if (!ok)
        value = QLocale().toDouble(text, &ok);
    if (!ok && text.count(',') == 1 && !text.contains('.'))
        value = QLocale::c().toDouble(QString(text).replace(',', '.'), &ok);
    const QString range = say("%1 to %2 %3").arg(shortFigure(min), shortFigure(max), unit).trimmed();
    if (!ok || !std::isfinite(value)) {
        why = std::isfinite(max) ? say("“%1” is no number; expected %2.").arg(typed.trimmed(), range)
                                 : say("“%1” is no number.").arg(typed.trimmed());
        return {};
    }
    if (fahrenheit && takes == Fahrenheit::Refused) {
        why = say("“%1” is in °F; expected °C: a step of 1 °F is one of 5/9 °C.").arg(typed.trimmed());
        return {};
    }
    if (fahrenheit)
        value = (value - 32) * 5 / 9;
    if (value < min || value > max) {
        why = say("%1 is outside %2.").arg(typed.trimmed(), range);
        return {};
    }
    return value;
}

} // namespace stripwright
