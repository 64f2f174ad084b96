#include "commands/curve_png.h"

#include "models/hand_work.h"
#include "models/run_review.h"
#include "models/wording.h"
#include "rules/joint_solder.h"

#include <QBuffer>
#include <QImage>
#include <QPainter>
#include <QPainterPath>

#include <algorithm>
#include <clocale>
#include <cmath>

namespace stripwright {

namespace {

constexpr int widthPx = 1600, heightPx = 900;
constexpr QRectF plot(90, 90, 1290, 720);
constexpr double labelHeightPx = 24;

// Okabe and Ito's colours, told apart by people who do not see all of them.
const QColor ink("#1B1D1F"), muted("#5C6166"), line("#D4D6D8"), jointColour("#0072B2"), bodyColour("#CC79A7"),
    glueColour("#D55E00"), lensColour("#009E73");

struct Trace {
    QString name;
    QColor colour;
    double widthPx = 1.5;
    bool dashed = false;
    std::vector<double> timeS, valueC;
};

QColor colourOf(StationKind kind)
{
    switch (kind) {
    case StationKind::Joint:
        return jointColour;
    case StationKind::Body:
        return bodyColour;
    case StationKind::Glue:
        return glueColour;
    case StationKind::Lens:
        return lensColour;
    default:
        return ink;
    }
}

std::vector<Trace> tracesOf(const HeatPlan& plan, const std::vector<Sample>& samples,
                            std::optional<double> stoppedAtS)
{
    std::vector<Trace> traces;
    for (const RunCurve& curve : curvesOf(samples)) {
        const bool recordedJoint = curve.station && curve.station->kind == StationKind::Joint;
        traces.push_back({.name = curve.station ? stationText(*curve.station) : QStringLiteral("joint est."),
                          .colour = colourOf(curve.station ? curve.station->kind : StationKind::Joint),
                          .widthPx = recordedJoint ? 2.5 : 1.5,
                          .dashed = !curve.station,
                          .timeS = curve.timeS,
                          .valueC = curve.valueC});
    }
    Trace reference{.name = QStringLiteral("plate, plan"), .colour = muted, .dashed = true};
    for (const Sample& sample : samples) {
        if (stoppedAtS && sample.timeS > *stoppedAtS)
            break;
        reference.timeS.push_back(sample.timeS);
        reference.valueC.push_back(sample.referenceC);
    }
    if (samples.empty()) {
        reference.timeS = plan.timeS;
        reference.valueC = plan.plateC;
    }
    traces.push_back(std::move(reference));
    return traces;
}

double stepOver(double range, int most)
{
    const double power = std::pow(10, std::floor(std::log10(range / most)));
    for (const double step : {1.0, 2.0, 5.0})
        if (step * power * most >= range)
            return step * power;
    return 10 * power;
}

class Picture {
public:
    Picture(const HeatPlan& plan, std::vector<Trace> traces, std::vector<TimedMark> marks)
        : plan_(plan), traces_(std::move(traces)), marks_(std::move(marks))
    {
        for (const Trace& trace : traces_) {
            endS_ = trace.timeS.empty() ? endS_ : std::max(endS_, trace.timeS.back());
            for (const double value : trace.valueC)
                if (std::isfinite(value))
                    topC_ = std::max(topC_, value + 10);
        }
    }

    QImage drawn()
    {
        QImage image(widthPx, heightPx, QImage::Format_RGB32);
        image.fill(Qt::white);
        QPainter painter(&image);
        painter.setRenderHint(QPainter::Antialiasing);
        QFont font = painter.font();
        font.setPixelSize(18);
        painter.setFont(font);
        drawGrid(painter);
        drawLimits(painter);
        for (const Trace& trace : traces_)
            drawTrace(painter, trace);
        for (const TimedMark& mark : marks_)
            drawMark(painter, mark);
        drawNames(painter);
        drawTitle(painter, font);
        return image;
    }

private:
    QPointF at(double seconds, double valueC) const
    {
        return {plot.left() + plot.width() * seconds / endS_, plot.bottom() - plot.height() * valueC / topC_};
    }

    void drawGrid(QPainter& painter) const
    {
        const double unitS = endS_ >= 10 * 3600 ? 3600 : endS_ >= 10 * 60 ? 60 : 1;
        const double stepC = stepOver(topC_, 8), stepS = unitS * stepOver(endS_ / unitS, 10);
        for (double valueC = 0; valueC <= topC_; valueC += stepC) {
            const double y = at(0, valueC).y();
            painter.setPen(QPen(line, 1));
            painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y));
            painter.setPen(muted);
            painter.drawText(QRectF(0, y - 15, plot.left() - 10, 30), Qt::AlignRight | Qt::AlignVCenter,
                             figure(valueC, 0) + " °C");
        }
        for (double seconds = 0; seconds <= endS_; seconds += stepS) {
            const double x = at(seconds, 0).x();
            painter.setPen(QPen(line, 1));
            painter.drawLine(QPointF(x, plot.bottom()), QPointF(x, plot.bottom() + 6));
            painter.setPen(muted);
            painter.drawText(QRectF(x - 60, plot.bottom() + 8, 120, 28), Qt::AlignCenter, clockText(seconds));
        }
    }

    void drawLimits(QPainter& painter) const
    {
        const double liquidusC = meltRangeOf(plan_.sheet).liquidusC;
        if (!meltsJoints(plan_.sheet.heat) || liquidusC <= 0 || liquidusC > topC_)
            return;
        const double y = at(0, liquidusC).y();
        painter.setPen(QPen(ink, 1, Qt::DotLine));
        painter.drawLine(QPointF(plot.left(), y), QPointF(plot.right(), y));
        painter.drawText(QRectF(plot.left() + 8, y - 28, 500, 26), Qt::AlignLeft | Qt::AlignVCenter,
                         QStringLiteral("liquidus ") + figure(liquidusC, 0) + QStringLiteral(" °C"));
    }

    void drawTrace(QPainter& painter, const Trace& trace) const
    {
        QPainterPath path;
        bool gap = true;
        for (size_t i = 0; i < trace.timeS.size(); ++i) {
            if (!std::isfinite(trace.valueC[i])) {
                gap = true;
                continue;
            }
            const QPointF point = at(trace.timeS[i], trace.valueC[i]);
            if (gap)
                path.moveTo(point);
            else
                path.lineTo(point);
            gap = false;
        }
        painter.setPen(QPen(trace.colour, trace.widthPx, trace.dashed ? Qt::DashLine : Qt::SolidLine));
        painter.setBrush(Qt::NoBrush);
        painter.drawPath(path);
    }

    // A triangle under the estimated joint, full for liquid.
    void drawMark(QPainter& painter, const TimedMark& timed) const
    {
        if (timed.timeS < 0 || timed.timeS > endS_)
            return;
        constexpr double highPx = 14, halfWidthPx = 8;
        const QPointF tip = at(timed.timeS, timed.mark.afterC);
        painter.setPen(QPen(jointColour, 2));
        painter.setBrush(timed.mark.liquid ? QBrush(jointColour) : QBrush(Qt::white));
        painter.drawPolygon(
            QPolygonF{tip, tip + QPointF(-halfWidthPx, highPx), tip + QPointF(halfWidthPx, highPx)});
        painter.setPen(ink);
        painter.drawText(QRectF(tip.x() + halfWidthPx + 4, tip.y(), 400, labelHeightPx),
                         Qt::AlignLeft | Qt::AlignVCenter, markName(timed.mark));
    }

    // Names stand in a column at the right in the order of the peaks, with the peak behind each.
    void drawNames(QPainter& painter)
    {
        const auto peakC = [](const Trace& trace) {
            double peak = -INFINITY;
            for (const double value : trace.valueC)
                if (std::isfinite(value))
                    peak = std::max(peak, value);
            return peak;
        };
        std::stable_sort(traces_.begin(), traces_.end(),
                         [&](const Trace& a, const Trace& b) { return peakC(a) > peakC(b); });
        double y = plot.top();
        for (const Trace& trace : traces_) {
            const double peak = peakC(trace);
            if (!std::isfinite(peak) || y + labelHeightPx > heightPx)
                continue;
            const double left = plot.right() + 14;
            painter.setPen(
                QPen(trace.colour, trace.widthPx + 0.5, trace.dashed ? Qt::DashLine : Qt::SolidLine));
            painter.drawLine(QPointF(left, y + labelHeightPx / 2), QPointF(left + 28, y + labelHeightPx / 2));
            painter.setPen(ink);
            painter.drawText(QRectF(left + 34, y, widthPx - left - 40, labelHeightPx),
                             Qt::AlignLeft | Qt::AlignVCenter, trace.name + ' ' + figure(peak, 0) + " °C");
            y += labelHeightPx;
        }
    }

    void drawTitle(QPainter& painter, QFont font) const
    {
        font.setPixelSize(26);
        painter.setFont(font);
        painter.setPen(ink);
        painter.drawText(QRectF(plot.left(), 20, widthPx - plot.left() - 20, 40),
                         Qt::AlignLeft | Qt::AlignVCenter, QString::fromStdString(plan_.sheet.title));
        font.setPixelSize(16);
        painter.setFont(font);
        painter.setPen(muted);
        painter.drawText(
            QRectF(plot.left(), 54, widthPx - plot.left() - 20, 28), Qt::AlignLeft | Qt::AlignVCenter,
            QStringLiteral("solid: recorded, dashed: planned or estimated; figures at the names are peaks"));
    }

    const HeatPlan& plan_;
    std::vector<Trace> traces_;
    std::vector<TimedMark> marks_;
    double endS_ = 1, topC_ = 50;
};

} // namespace

PictureApplication::PictureApplication()
{
    static int argc = 1;
    static char name[] = "stripwright";
    static char* argv[] = {name, nullptr};
    qputenv("QT_QPA_PLATFORM", "offscreen");
    if (!qEnvironmentVariableIsSet("XDG_RUNTIME_DIR")) // Else Qt complains, on a machine without a desktop.
        qputenv("XDG_RUNTIME_DIR", runtimeFolder_.path().toLocal8Bit());
    application_ = std::make_unique<QGuiApplication>(argc, argv);
    std::setlocale(LC_NUMERIC, "C"); // Qt has taken the user's
}

PictureApplication::~PictureApplication() = default;

std::string curvePng(const HeatPlan& plan, const std::vector<Sample>& samples,
                     const std::vector<Event>& events)
{
    const QImage image = Picture(plan, tracesOf(plan, samples, stoppedS(events)), marksOf(events)).drawn();
    QByteArray bytes;
    QBuffer buffer(&bytes);
    buffer.open(QIODevice::WriteOnly);
    image.save(&buffer, "PNG");
    return bytes.toStdString();
}

} // namespace stripwright
