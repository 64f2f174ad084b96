#include "models/wording.h"

#include "rules/wording.h"

#include <QCoreApplication>
#include <QLocale>

#include <algorithm>
#include <cmath>

namespace stripwright {

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("wording", text);
}

int decimalsOf(const Limit& limit)
{
    switch (limit.metric) {
    case Metric::SteepestRise:
    case Metric::SteepestFall:
    case Metric::MeanCooling:
        return 2;
    case Metric::Peak:
        return 1;
    default:
        return 0;
    }
}

QString unitOf(const Limit& limit)
{
    return QString::fromUtf8(limit.unit());
}

/// Seconds in hours, where they are that many.
bool inHours(const Limit& limit, double value)
{
    constexpr double hourS = 3600;
    return unitOf(limit) == QStringLiteral("s") && std::isfinite(value) && std::abs(value) >= hourS;
}

/// A value of the limit without its unit, or in hours.
QString bare(const Limit& limit, double value, int decimals)
{
    return inHours(limit, value) ? clockText(value) : figure(value, decimals);
}

/// Empty behind a value in hours.
QString unitBehind(const Limit& limit, double value)
{
    return inHours(limit, value) ? QString() : ' ' + unitOf(limit);
}

} // namespace

QString figure(double value, int decimals)
{
    if (!std::isfinite(value))
        return say("unknown");
    QString text = QLocale().toString(value, 'f', decimals);
    QString zero = QLocale().toString(0.0, 'f', decimals);
    if (text == QLocale().negativeSign() + zero)
        return zero; // no "-0.0"
    return text.replace('-', QChar(0x2212));
}

QString signedFigure(double value, int decimals)
{
    const QString text = figure(value, decimals);
    return text.startsWith(QChar(0x2212)) || !std::isfinite(value) ? text : '+' + text;
}

QString placeText(double mm)
{
    return placeFigure(mm) + QStringLiteral(" mm");
}

QString placeFigure(double mm)
{
    return figure(mm, std::abs(mm - std::round(mm)) < 0.05 ? 0 : 1);
}

QString clockText(double seconds)
{
    if (!std::isfinite(seconds))
        return say("unknown");
    return QString::fromStdString(clockInWords(seconds)).replace('-', QChar(0x2212));
}

QString lensText(const BenchSheet& sheet, int site)
{
    if (!sheet.strip.lens)
        return say("none");
    if (sheet.lensToRelease(site))
        return say("released here");
    if (sheet.lensStaysOn(site))
        return say("stays");
    const SiteOnBench& here = sheet.sites.at(size_t(site) - 1);
    return here.state == SiteState::Replace && here.lens == LensState::On ? say("comes off") : say("off");
}

QString stationText(StationId station)
{
    if (station.kind == StationKind::FarFoot)
        return say("far foot %1").arg(station.site);
    return QString::fromStdString(station.name()).replace('_', ' ');
}

QString valueText(const Limit& limit, double value)
{
    return bare(limit, value, decimalsOf(limit)) + unitBehind(limit, value);
}

QString marginText(const Limit& limit, double margin)
{
    if (inHours(limit, margin))
        return (margin > 0 ? QStringLiteral("+") : QString()) + clockText(margin);
    const QString unit = limit.metric == Metric::Peak ? QStringLiteral("K") : unitOf(limit);
    int decimals = decimalsOf(limit);
    // What is missed, if by little, must not read as none.
    constexpr int decimalsMost = 3;
    while (margin < 0 && decimals <= decimalsMost && !figure(margin, decimals).startsWith(QChar(0x2212)))
        ++decimals;
    return decimals > decimalsMost ? say("just missed") : signedFigure(margin, decimals) + ' ' + unit;
}

QString allowedText(const Limit& limit)
{
    if (const double most = limit.max.value_or(limit.min.value_or(0));
        inHours(limit, most) && limit.min && limit.max)
        return QStringLiteral("%1–%2").arg(clockText(*limit.min), clockText(*limit.max));
    else if (inHours(limit, most))
        return say(limit.max ? "up to %1" : "at least %1").arg(clockText(most));
    return windowText({limit.min, limit.max}, unitOf(limit), decimalsOf(limit) == 2 ? 1 : 0);
}

QString spanText(const MarginRow& row)
{
    if (!row.low && !row.nominal && !row.high)
        return say("not reached");
    // A part's temperatures are not good to tenths.
    const bool wholeDegrees = row.limit.protects && row.limit.metric == Metric::Peak;
    const int decimals = wholeDegrees ? 0 : decimalsOf(row.limit);
    const auto part = [&](const std::optional<double>& value) {
        return value ? bare(row.limit, *value, decimals) : QString(QChar(0x2013));
    };
    if (!row.low && !row.high)
        return part(row.nominal) + unitBehind(row.limit, *row.nominal);
    const auto last = row.high ? row.high : row.nominal ? row.nominal : row.low;
    return part(row.low) + QStringLiteral(" · ") + part(row.nominal) + QStringLiteral(" · ") +
           part(row.high) + unitBehind(row.limit, *last);
}

QString windowText(const Window& window, const QString& unit, int decimals)
{
    const auto plain = [&](double value) {
        return figure(value, std::abs(value - std::round(value)) < 1e-9 ? 0 : std::max(decimals, 1));
    };
    if (window.min && window.max)
        return QStringLiteral("%1–%2 %3").arg(plain(*window.min), plain(*window.max), unit);
    if (window.max)
        return say("up to %1 %2").arg(plain(*window.max), unit);
    if (window.min)
        return say("at least %1 %2").arg(plain(*window.min), unit);
    return {};
}

QString shareText(const MarginRow& row)
{
    return figure(100 * row.normalisedMargin, 0) + QStringLiteral(" %");
}

QString orderOfLimitsText()
{
    return say("broken first, then by the share of its tolerance that is left; a tolerance is half the "
               "window, of a lone limit a tenth of it");
}

std::optional<double> hottestOf(const MarginRow& row)
{
    std::optional<double> hottest;
    if (row.limit.metric == Metric::Peak)
        for (const auto& value : {row.low, row.nominal, row.high})
            if (value)
                hottest = std::max(hottest.value_or(*value), *value);
    return hottest;
}

RowState stateOf(const MarginRow& row)
{
    if (row.margin >= 0)
        return RowState::Kept;
    return row.limit.habit ? RowState::HabitMissed : RowState::Broken;
}

QString inWords(RowState state)
{
    switch (state) {
    case RowState::Kept:
        return say("kept");
    case RowState::HabitMissed:
        return say("habit missed");
    case RowState::Broken:
        return say("broken");
    }
    return {};
}

} // namespace stripwright
