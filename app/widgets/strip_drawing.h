#pragma once

#include "planner/heat_plan.h"

#include <QWidget>

#include <map>
#include <memory>

namespace stripwright {

/// The strip on its plate, to scale along its length, sites numbered from the connector end.
///
/// Arrows move between sites, Space or R marks one for replacement, L takes its lens off or puts it back;
/// Down goes to the plate bar, where the arrows move it by 1 mm (10 mm with Shift), Up back to the sites.
class StripDrawing : public QWidget {
    Q_OBJECT
public:
    explicit StripDrawing(QWidget* parent = nullptr);

    void setSheet(const BenchSheet& sheet);
    /// What of each lens that stays comes nearest its limit, the lens, its foot or its glue, drawn at its
    /// ring, and every site at which a limit is broken; null or of another strip: none is drawn.
    void setPlan(const std::shared_ptr<const HeatPlan>& plan);
    /// One of several heats of this very sheet: where it has the plate, and which marked sites it does. Null:
    /// as the sheet says. A changed sheet ends it.
    void setHeat(const std::shared_ptr<const HeatPlan>& heat);
    double plateStartMm() const;                                        ///< As drawn.
    bool breaksLimit(int site) const { return broken_.contains(site); } ///< Marked so.
    int currentSite() const { return currentSite_; }
    QString summary() const;          ///< The whole drawing in words.
    QString siteText(int site) const; ///< One site in words.
    QRectF siteRect(int site) const;  ///< Of its LED, in widget pixels.
    QRectF plateRect() const;

    QSize sizeHint() const override;
    QSize minimumSizeHint() const override;

signals:
    void replaceToggled(int site);
    void lensToggled(int site);
    void plateMoved(double startMm,
                    bool dragging); ///< Wanted edge at the connector end, still while dragging.
    void currentSiteChanged(int site);

protected:
    void paintEvent(QPaintEvent* event) override;
    void mousePressEvent(QMouseEvent* event) override;
    void mouseMoveEvent(QMouseEvent* event) override;
    void mouseReleaseEvent(QMouseEvent* event) override;
    void keyPressEvent(QKeyEvent* event) override;
    void focusInEvent(QFocusEvent* event) override;
    void focusOutEvent(QFocusEvent* event) override;
    bool event(QEvent* event) override; // tool tips

private:
    double xOf(double mm) const;
    double mmPerPixel() const;
    QRectF stripRect() const;
    int siteAt(QPointF at) const; // 0: none
    void setCurrent(int site, bool plate);
    void drawStrip(QPainter& painter) const;
    void drawSite(QPainter& painter, const SiteOnBench& site) const;
    void drawPlateAndBlocks(QPainter& painter) const;
    void drawRuler(QPainter& painter) const;
    QString plateName() const;
    bool inThisHeat(int site) const;
    void tellSummary();

    BenchSheet sheet_;
    std::map<int, MarginRow> lensRows_; // by site, the worst
    std::map<int, MarginRow> broken_;   // by site, the worst
    std::shared_ptr<const HeatPlan> heat_;
    int currentSite_ = 1;
    bool plateCurrent_ = false;
    std::optional<double> dragGripMm_;
};

} // namespace stripwright
