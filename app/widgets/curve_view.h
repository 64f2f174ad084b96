#pragma once

#include <QChartView>
#include <QColor>

#include <optional>
#include <vector>

class QAreaSeries;
class QLineSeries;
class QValueAxis;

namespace stripwright {

/// One temperature over time. Predicted and estimated ones are dashed, measured ones solid.
struct PlotCurve {
    QString name;
    QColor colour;
    double widthPx = 1.5;
    bool dashed = false;
    bool named = true;                 ///< Name at its end, and value under the cursor.
    std::vector<double> timeS, valueC; ///< NaN is a gap.
    std::vector<double> lowC, highC;   ///< Band around it; empty: none.
    /// What several like it are called, "joints": where their names have no room, one stands for all. Empty:
    /// it is one of its own.
    QString together;
};

struct PlotLimit {
    QString name;
    double valueC = 0;
    double fromS = 0, toS = 0; ///< Where it applies; toS <= fromS: everywhere.
};

/// Allowed stretch of a curve, drawn as a faint field only where it applies.
struct PlotField {
    double fromS = 0, toS = 0, lowC = 0, highC = 0;
};

/// A moment of a curve: a small triangle, full or hollow, with its name beside it.
struct PlotPoint {
    QString name;
    double timeS = 0, valueC = 0;
    bool full = true;
};

struct PlotStage {
    QString name;
    double startS = 0, endS = 0;
};

/// Temperatures over time with limits, stages and a cursor. Wheel or + and - zoom in time, dragging or Shift
/// with the arrows moves, arrows move the cursor, Home or a double click shows the whole again.
class CurveView : public QChartView {
    Q_OBJECT
public:
    explicit CurveView(QWidget* parent = nullptr);

    void setCurves(std::vector<PlotCurve> curves); ///< Cheap when only the numbers differ from those set.
    void setMarks(std::vector<PlotLimit> limits, std::vector<PlotField> fields,
                  std::vector<PlotStage> stages);
    void setPoints(std::vector<PlotPoint> points);
    /// What "the whole" is, and what is shown until the user zooms.
    void setSpan(double fromS, double toS);
    void setNow(std::optional<double> nowS);
    void setEmptyText(const QString& text)
    {
        emptyText_ = text;
        viewport()->update();
    }

    const std::vector<PlotCurve>& curves() const { return curves_; }
    const std::vector<PlotStage>& stages() const { return stages_; }
    const std::vector<PlotPoint>& points() const { return points_; }
    QStringList namesAtEnds() const; ///< As drawn: some stand for several curves.
    double fromS() const { return fromS_; }
    double toS() const { return toS_; }
    bool zoomed() const { return zoomed_; }
    void showWhole();
    void setCursor(std::optional<double> timeS);
    QString reading(double timeS) const; ///< Every named curve's value at a time, in words.

signals:
    void zoomedChanged();

protected:
    void drawBackground(QPainter* painter, const QRectF& rect) override;
    void drawForeground(QPainter* painter, const QRectF& rect) override;
    void resizeEvent(QResizeEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;
    void mouseReleaseEvent(QMouseEvent* event) override;
    void mouseDoubleClickEvent(QMouseEvent* event) override;
    void wheelEvent(QWheelEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void leaveEvent(QEvent* event) override;
    void changeEvent(QEvent* event) override;

private:
    struct Series {
        QLineSeries* line = nullptr;
        QAreaSeries* band = nullptr;
        QLineSeries *low = nullptr, *high = nullptr;
    };
    void rebuildSeries();
    void layOut();
    void redraw();
    void fitTemperature();
    void showSpan(double fromS, double toS);
    void zoomAt(double timeS, double factor);
    struct EndName {
        QString text;
        QColor colour;
        std::vector<QPointF> ends; ///< Of the curves it stands for.
        double wantedY = 0, y = 0; ///< Its middle.
    };
    std::vector<EndName> endNames(double height) const;
    double xOf(double timeS) const;
    double yOf(double valueC) const;
    double timeAt(double x) const;
    void drawStages(QPainter* painter) const;
    void drawNames(QPainter* painter);
    void drawPoints(QPainter* painter);
    void drawCursor(QPainter* painter);

    std::vector<PlotCurve> curves_;
    std::vector<Series> series_;
    std::vector<PlotLimit> limits_;
    std::vector<PlotField> fields_;
    std::vector<PlotStage> stages_;
    std::vector<PlotPoint> points_;
    QValueAxis *timeAxis_, *valueAxis_;
    QRectF plot_;
    double wholeFromS_ = 0, wholeToS_ = 60, fromS_ = 0, toS_ = 60, topC_ = 100;
    bool zoomed_ = false;
    std::optional<double> nowS_, cursorS_, dragFromX_;
    QString emptyText_;
};

} // namespace stripwright
