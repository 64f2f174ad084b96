#include "thermal/strip_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stripwright {

double Station::valueC(const Eigen::VectorXd& temperaturesC) const
{
    double value = 0;
    for (const Share& share : shares)
        value += share.weight * temperaturesC[share.node];
    return value;
}

const Station* StripModel::find(StationId id) const
{
    for (const Station& station : stations)
        if (station.id() == id)
            return &station;
    return nullptr;
}

namespace {

constexpr double mm = 1e-3;
constexpr double um = 1e-6;

Station stationOf(StationId id, double xMm, std::vector<Station::Share> shares)
{
    return {id.name(), id.kind, id.site, xMm, std::move(shares)};
}

} // namespace

double heatedCopperM2(const StripType& strip)
{
    const LedPackage& led = strip.led;
    double rimMm = 0;
    if (strip.copper.coversStrip)
        rimMm = std::sqrt(strip.copper.conductivityWPerMK * strip.copper.thicknessUm * um *
                          strip.dielectric.thicknessUm * um / strip.dielectric.conductivityWPerMK) /
                mm;
    return (led.padLengthMm + 2 * rimMm) * std::min(strip.widthMm, led.padWidthMm + 2 * rimMm) * mm * mm;
}

namespace {

/// Builds one model; the members are what its steps share.
class Builder {
public:
    Builder(const BenchSheet& sheet, const StripModelOptions& options)
        : sheet_(sheet), strip_(sheet.strip), options_(options)
    {
        cellCount_ = std::max(2, static_cast<int>(std::ceil(strip_.lengthMm / options.cellMm - 1e-9)));
        cellMm_ = strip_.lengthMm / cellCount_;
    }

    StripModel build()
    {
        for (int site = 1; site <= static_cast<int>(strip_.siteXMm.size()); ++site)
            addSiteNodes(site);
        firstCell_ = static_cast<int>(model_.network.capacityJPerK.size());
        addCells();
        for (const SiteNodes& nodes : siteNodes_)
            joinSite(nodes);
        addBlocks();
        addPlate();
        addFilmsOfCells();
        addStripStations();
        return std::move(model_);
    }

private:
    struct SiteNodes {
        int site;
        int joint;
        std::vector<int> body; // from the joint up
        std::vector<int> feet; // glue line, mid foot; of the side nearer the connector, then of the other
        int optic = -1;
    };

    double lossScale() const { return options_.lossFactor; }
    HeatNetwork& net() { return model_.network; }
    double siteX(int site) const { return strip_.siteXMm[site - 1]; }
    bool hasLens(int site) const { return sheet_.lensIsThere(site); }

    /// Length of [startMm, endMm] inside cell i.
    double overlapMm(int i, double startMm, double endMm) const
    {
        return std::max(0.0, std::min(endMm, (i + 1) * cellMm_) - std::max(startMm, i * cellMm_));
    }

    template <class Use> void overCells(double startMm, double endMm, Use use) const
    {
        const int first = std::clamp(static_cast<int>(std::floor(startMm / cellMm_)), 0, cellCount_ - 1);
        for (int i = first; i < cellCount_ && i * cellMm_ < endMm; ++i)
            if (const double overlap = overlapMm(i, startMm, endMm); overlap > 0)
                use(i, overlap);
    }

    void addFilm(int node, double filmWPerM2K, double emissivity, double areaM2)
    {
        if (filmWPerM2K * areaM2 > 0)
            net().films.push_back({node, filmWPerM2K * areaM2 * lossScale() * options_.filmFactor});
        if (emissivity * areaM2 > 0)
            net().radiators.push_back({node, emissivity * areaM2 * lossScale()});
    }

    void addSiteNodes(int site)
    {
        const LedPackage& led = strip_.led;
        SiteNodes nodes{.site = site, .joint = -1, .body = {}, .feet = {}};
        const double bodyJPerK =
            led.volumetricHeatJPerM3K * led.lengthMm * led.widthMm * led.heightMm * mm * mm * mm;
        for (int i = 0; i < options_.bodyLumps; ++i)
            nodes.body.push_back(-1);
        for (int i = options_.bodyLumps - 1; i >= 0; --i)
            nodes.body[i] = net().addNode(bodyJPerK / options_.bodyLumps);
        const double jointJPerK = sheet_.paste.alloy.densityKgPerM3 * sheet_.paste.alloy.heatCapacityJPerKgK *
                                  footprintM2() * strip_.jointThicknessUm * um;
        const double padCopperJPerK = strip_.copper.volumetricHeatJPerM3K * strip_.copper.thicknessUm * um *
                                      led.padLengthMm * led.padWidthMm * mm * mm;
        nodes.joint = net().addNode(jointJPerK + padCopperJPerK);
        if (hasLens(site)) {
            const Lens& lens = *strip_.lens;
            const double footJPerK = lens.volumetricHeatJPerM3K * feetAreaM2() / 2 * lens.footHeightMm * mm;
            for (int side = 0; side < 2; ++side) {
                nodes.feet.push_back(net().addNode(footJPerK * 0.25));
                nodes.feet.push_back(net().addNode(footJPerK * 0.75));
            }
            nodes.optic = net().addNode(lens.massG * 1e-3 * lens.heatCapacityJPerKgK);
        }
        siteNodes_.push_back(nodes);
    }

    double footprintM2() const
    {
        const LedPackage& led = strip_.led;
        return std::min(led.lengthMm, led.padLengthMm) * std::min(led.widthMm, led.padWidthMm) * mm * mm;
    }

    double feetAreaM2() const
    {
        const Lens& lens = *strip_.lens;
        return lens.footCount * std::numbers::pi / 4 * lens.footDiameterMm * lens.footDiameterMm * mm * mm;
    }

    void addCells()
    {
        const double dx = cellMm_ * mm, width = strip_.widthMm * mm;
        const Core& core = strip_.core;
        const double coreKg = core.densityKgPerM3 * core.thicknessMm * mm * width * dx;
        double perCell = coreKg * core.heatCapacityJPerKgK;
        perCell += strip_.dielectric.volumetricHeatJPerM3K * strip_.dielectric.thicknessUm * um * width * dx;
        double axial = coreWPerMK() * core.thicknessMm * mm * width / dx;
        std::vector<double> padMm(cellCount_, 0.0);
        if (strip_.copper.coversStrip) {
            perCell += strip_.copper.volumetricHeatJPerM3K * strip_.copper.thicknessUm * um * width * dx;
            axial += strip_.copper.conductivityWPerMK * strip_.copper.thicknessUm * um * width / dx;
            for (double x : strip_.siteXMm)
                overCells(x - strip_.led.padLengthMm / 2, x + strip_.led.padLengthMm / 2,
                          [&](int i, double overlap) { padMm[i] += overlap; });
        }
        // The pad's copper sits in the joint node; taken out here so that it is not counted twice.
        const double padJPerKPerMm = strip_.copper.volumetricHeatJPerM3K * strip_.copper.thicknessUm * um *
                                     strip_.led.padWidthMm * mm * mm;
        for (int i = 0; i < cellCount_; ++i) {
            const double jPerK = perCell - padMm[i] * padJPerKPerMm;
            net().addNode(jPerK, coreKg * core.heatCapacitySlopeJPerKgK2 / jPerK);
        }
        for (int i = 0; i + 1 < cellCount_; ++i)
            net().links.push_back({cell(i), cell(i + 1), axial});
    }

    int cell(int i) const { return firstCell_ + i; }
    double coreWPerMK() const { return options_.coreWPerMK.value_or(strip_.core.conductivityWPerMK); }

    void joinSite(const SiteNodes& nodes)
    {
        const LedPackage& led = strip_.led;
        const double x = siteX(nodes.site), area = footprintM2();
        const double padM2 = heatedCopperM2(strip_);
        const double jointHalf =
            strip_.jointThicknessUm * um / 2 / (sheet_.paste.alloy.conductivityWPerMK * area);
        const double lumpHalf = led.heightMm * mm / options_.bodyLumps / 2 / (led.conductivityWPerMK * area);

        const double toCore =
            1 / (strip_.dielectric.thicknessUm * um / (strip_.dielectric.conductivityWPerMK * padM2) +
                 strip_.copper.thicknessUm * um / (strip_.copper.conductivityWPerMK * padM2) +
                 strip_.core.thicknessMm * mm / 2 / (coreWPerMK() * padM2) + jointHalf);
        Station under = stationOf({StationKind::Dielectric, nodes.site}, x, {});
        for (const auto& [node, weight] : coreUnder(x - led.padLengthMm / 2, x + led.padLengthMm / 2)) {
            net().links.push_back({nodes.joint, node, toCore * weight});
            under.shares.push_back({node, weight});
        }

        net().links.push_back({nodes.joint, nodes.body[0], 1 / (jointHalf + lumpHalf)});
        const double bodyM2 = led.lengthMm * led.widthMm * mm * mm;
        const double lumpToLump = led.conductivityWPerMK * bodyM2 / (led.heightMm * mm / options_.bodyLumps);
        for (size_t i = 0; i + 1 < nodes.body.size(); ++i)
            net().links.push_back({nodes.body[i], nodes.body[i + 1], lumpToLump});
        const double sideM2 = 2 * (led.lengthMm + led.widthMm) * mm * led.heightMm * mm / options_.bodyLumps;
        for (int node : nodes.body)
            addFilm(node, sheet_.air.filmSideWPerM2K, strip_.emissivitySide, sideM2);
        if (!hasLens(nodes.site))
            addFilm(nodes.body.back(), sheet_.air.filmTopWPerM2K, strip_.emissivityTop, bodyM2);
        model_.stations.push_back(stationOf(jointOf(nodes.site), x, {{nodes.joint, 1.0}}));
        model_.stations.push_back(stationOf({StationKind::Body, nodes.site}, x, {{nodes.body.back(), 1.0}}));
        if (hasLens(nodes.site))
            joinLens(nodes);
        model_.stations.push_back(under);
    }

    void joinLens(const SiteNodes& nodes)
    {
        const Lens& lens = *strip_.lens;
        const Glue& glue = *strip_.glue;
        const double x = siteX(nodes.site), halfFeetM2 = feetAreaM2() / 2;
        const double glueHalf = glue.thicknessUm * um / 2 / (glue.conductivityWPerMK * halfFeetM2);
        const double footQuarter = lens.footHeightMm * mm / 4 / (lens.conductivityWPerMK * halfFeetM2);
        const double toCore =
            1 / (strip_.dielectric.thicknessUm * um / (strip_.dielectric.conductivityWPerMK * halfFeetM2) +
                 glueHalf);
        for (int side = 0; side < 2; ++side) {
            // Between the outermost cell centres: beyond them a share, here a conductance, would be negative.
            const double footX = std::clamp(x + (side ? 0.5 : -0.5) * lens.footCircleMm, cellMm_ / 2,
                                            strip_.lengthMm - cellMm_ / 2);
            for (const auto& [node, weight] : coreAt(footX))
                net().links.push_back({nodes.feet[2 * side], node, toCore * weight});
            net().links.push_back(
                {nodes.feet[2 * side], nodes.feet[2 * side + 1], 1 / (glueHalf + 2 * footQuarter)});
            net().links.push_back({nodes.feet[2 * side + 1], nodes.optic, 1 / (2 * footQuarter)});
        }
        overCells(x - lens.diameterMm / 2, x + lens.diameterMm / 2, [&](int i, double overlap) {
            net().links.push_back({cell(i), nodes.optic, lens.gapConductanceWPerK * overlap / coveredMm(x)});
        });
        net().films.push_back({nodes.optic, lens.toAirWPerK * lossScale() * options_.filmFactor});

        // The feet nearer the plate are the hotter ones; a lens lets go only when the others do too.
        const double plateMiddle = (sheet_.plateStartMm + sheet_.plateEndMm()) / 2;
        const int hotSide = plateMiddle > x ? 1 : 0;
        const auto add = [&](StationKind kind, int node) {
            model_.stations.push_back(stationOf({kind, nodes.site}, x, {{node, 1.0}}));
        };
        add(StationKind::Glue, nodes.feet[2 * hotSide]);
        if (sheet_.lensToRelease(nodes.site))
            add(StationKind::FarFoot, nodes.feet[2 * (1 - hotSide)]);
        add(StationKind::Lens, nodes.optic);
    }

    double coveredMm(double x) const
    {
        const double radius = strip_.lens->diameterMm / 2;
        return std::min(strip_.lengthMm, x + radius) - std::max(0.0, x - radius);
    }

    /// Core temperature at x by straight lines between cell centres, and beyond the last ones along the same
    /// lines.
    std::vector<Station::Share> coreAt(double xMm) const
    {
        const double place = xMm / cellMm_ - 0.5;
        const int i = std::clamp(static_cast<int>(std::floor(place)), 0, cellCount_ - 2);
        const double right = std::clamp(place - i, -0.5, 1.5);
        return {{cell(i), 1 - right}, {cell(i + 1), right}};
    }

    /// Mean core temperature of a stretch by straight lines between cell centres. By overlap with the cells
    /// alone it would stand up to half a cell beside the middle of the stretch.
    std::vector<Station::Share> coreUnder(double startMm, double endMm) const
    {
        std::vector<double> weight(cellCount_, 0.0);
        for (double from = startMm; from < endMm;) {
            const double nextCentre = (std::floor(from / cellMm_ - 0.5 + 1e-9) + 1.5) * cellMm_;
            const double to = std::min(endMm, nextCentre);
            // No share below 0, here a conductance: the outermost half cells have their cells' temperature.
            const double place =
                std::clamp((from + to) / 2 / cellMm_ - 0.5, 0.0, static_cast<double>(cellCount_ - 1));
            const int i = std::min(static_cast<int>(place), cellCount_ - 2);
            weight[i] += (1 - (place - i)) * (to - from) / (endMm - startMm);
            weight[i + 1] += (place - i) * (to - from) / (endMm - startMm);
            from = to;
        }
        std::vector<Station::Share> shares;
        for (int i = 0; i < cellCount_; ++i)
            if (weight[i] > 0)
                shares.push_back({cell(i), weight[i]});
        return shares;
    }

    void addBlocks()
    {
        for (size_t b = 0; b < sheet_.sinkBlocks.size(); ++b) {
            const PlacedSinkBlock& placed = sheet_.sinkBlocks[b];
            const int node = net().addNode(placed.block.heatCapacityJPerK);
            overCells(placed.startMm, placed.startMm + placed.block.lengthMm, [&](int i, double overlap) {
                net().links.push_back(
                    {cell(i), node, placed.block.conductanceWPerM2K * overlap * mm * strip_.widthMm * mm});
            });
            net().films.push_back({node, placed.block.lossWPerK * lossScale()});
            model_.stations.push_back({"block_" + std::to_string(b + 1),
                                       StationKind::Block,
                                       0,
                                       placed.startMm + placed.block.lengthMm / 2,
                                       {{node, 1.0}}});
        }
    }

    double contactFactor() const
    {
        const ContactCondition& contact = sheet_.contact;
        double level = 1;
        if (options_.contact == ContactLevel::Low)
            level = contact.lowWPerM2K / contact.nominalWPerM2K;
        if (options_.contact == ContactLevel::High)
            level = contact.highWPerM2K / contact.nominalWPerM2K;
        return level * options_.contactFactor;
    }

    std::vector<ContactSegment> contactSegments() const
    {
        if (options_.lifted)
            return {};
        std::vector<ContactSegment> segments = sheet_.contact.segments;
        if (segments.empty())
            segments.push_back({sheet_.plateStartMm, sheet_.plateEndMm(), sheet_.contact.nominalWPerM2K});
        for (ContactSegment& segment : segments) {
            segment.startMm = std::max({segment.startMm, sheet_.plateStartMm, 0.0});
            segment.endMm = std::min({segment.endMm, sheet_.plateEndMm(), strip_.lengthMm});
        }
        return segments;
    }

    double onPlateMm() const
    {
        return std::max(0.0,
                        std::min(sheet_.plateEndMm(), strip_.lengthMm) - std::max(sheet_.plateStartMm, 0.0));
    }

    void addPlate()
    {
        const PlateType& plate = sheet_.plate;
        if (options_.plateIsNode) {
            // A first-order lag of the element holds back power times lag whatever its own capacity; a
            // twentieth of the plate keeps the total right.
            // Below it there is no lag to see, only a conductance out of range.
            constexpr double shortestLagS = 1e-3;
            const double elementJPerK = plate.elementLagS > shortestLagS ? plate.heatCapacityJPerK / 20 : 0;
            const double sensorJPerK = plate.heatCapacityJPerK * 1e-4;
            if (plate.sensorLagS > shortestLagS)
                model_.sensorNode = net().addNode(sensorJPerK);
            if (elementJPerK > 0)
                net().heaterNode = net().addNode(elementJPerK);
            model_.plateNode = net().addNode(plate.heatCapacityJPerK - elementJPerK);
            if (model_.sensorNode >= 0)
                net().links.push_back({model_.sensorNode, model_.plateNode, sensorJPerK / plate.sensorLagS});
            else
                model_.sensorNode = model_.plateNode;
            if (net().heaterNode >= 0)
                net().links.push_back({net().heaterNode, model_.plateNode, elementJPerK / plate.elementLagS});
            else
                net().heaterNode = model_.plateNode;
            // Where the strip lies, the fan blows on the strip instead of the plate.
            const double coveredM2 = options_.lifted ? 0 : onPlateMm() * mm * strip_.widthMm * mm;
            const double bareShare =
                std::max(0.0, 1 - coveredM2 / (plate.lengthMm * mm * plate.widthMm * mm));
            const double lossWPerK = plate.lossWPerK + (options_.fan ? plate.fanLossWPerK * bareShare : 0);
            net().films.push_back({model_.plateNode, lossWPerK * lossScale()});
            net().radiators.push_back({model_.plateNode, plate.radiatingAreaM2 * lossScale()});
            model_.stations.push_back(stationOf({StationKind::Plate}, 0, {{model_.plateNode, 1.0}}));
            model_.stations.push_back(stationOf({StationKind::Sensor}, 0, {{model_.sensorNode, 1.0}}));
        }
        // A third of the core in series: mean temperature of a slab heated through one face.
        const double coreResistance = strip_.core.thicknessMm * mm / 3 / coreWPerMK();
        for (const ContactSegment& segment : contactSegments()) {
            const double contact = segment.conductanceWPerM2K * contactFactor();
            if (!(contact > 0) || segment.endMm <= segment.startMm)
                continue;
            const double wPerM2K = 1 / (1 / contact + coreResistance);
            overCells(segment.startMm, segment.endMm, [&](int i, double overlap) {
                const double wPerK = wPerM2K * overlap * mm * strip_.widthMm * mm;
                if (options_.plateIsNode)
                    net().links.push_back({cell(i), model_.plateNode, wPerK});
                else
                    net().plateLinks.push_back({cell(i), wPerK});
            });
        }
    }

    void addFilmsOfCells()
    {
        const Air& air = sheet_.air;
        const double width = strip_.widthMm * mm, thickness = strip_.core.thicknessMm * mm;
        std::vector<double> topM2(cellCount_, cellMm_ * mm * width), undersideM2 = topM2;
        for (int site = 1; site <= static_cast<int>(strip_.siteXMm.size()); ++site) {
            const double x = siteX(site), bodyWidth = strip_.led.widthMm * mm;
            overCells(x - strip_.led.lengthMm / 2, x + strip_.led.lengthMm / 2,
                      [&](int i, double overlap) { topM2[i] -= overlap * mm * bodyWidth; });
            if (!hasLens(site))
                continue;
            const double lensM2 =
                std::min(std::numbers::pi / 4 * strip_.lens->diameterMm * strip_.lens->diameterMm * mm * mm,
                         coveredMm(x) * mm * width);
            const double bodyM2 = strip_.led.lengthMm * mm * bodyWidth;
            overCells(x - strip_.lens->diameterMm / 2, x + strip_.lens->diameterMm / 2,
                      [&](int i, double overlap) {
                          topM2[i] -= std::max(0.0, lensM2 - bodyM2) * overlap / coveredMm(x);
                      });
        }
        for (const ContactSegment& segment : contactSegments())
            overCells(segment.startMm, segment.endMm,
                      [&](int i, double overlap) { undersideM2[i] -= overlap * mm * width; });
        for (const PlacedSinkBlock& placed : sheet_.sinkBlocks)
            overCells(placed.startMm, placed.startMm + placed.block.lengthMm,
                      [&](int i, double overlap) { undersideM2[i] -= overlap * mm * width; });
        const double fanWPerM2K = options_.fan ? sheet_.plate.fanLossWPerK /
                                                     (sheet_.plate.lengthMm * mm * sheet_.plate.widthMm * mm)
                                               : 0;
        for (int i = 0; i < cellCount_; ++i) {
            const double underFan = overlapMm(i, sheet_.plateStartMm, sheet_.plateEndMm()) / cellMm_;
            double sideM2 = 2 * cellMm_ * mm * thickness;
            if (i == 0 || i == cellCount_ - 1)
                sideM2 += width * thickness;
            addFilm(cell(i), air.filmTopWPerM2K + fanWPerM2K * underFan, strip_.emissivityTop,
                    std::max(0.0, topM2[i]));
            addFilm(cell(i), air.filmUndersideWPerM2K, strip_.emissivityUnderside,
                    std::max(0.0, undersideM2[i]));
            addFilm(cell(i), air.filmSideWPerM2K, strip_.emissivitySide, sideM2);
        }
    }

    void addStripStations()
    {
        for (double x : options_.stripXMm) {
            std::string number = std::to_string(x);
            number.erase(number.find_last_not_of('0') + 1);
            if (number.back() == '.')
                number.pop_back();
            model_.stations.push_back({"strip_" + number, StationKind::Strip, 0, x, coreAt(x)});
        }
        for (const SpareLed& spare : options_.spares)
            model_.stations.push_back(
                stationOf({StationKind::Spare, spare.site}, spare.xMm, coreAt(spare.xMm)));
    }

    const BenchSheet& sheet_;
    const StripType& strip_;
    const StripModelOptions& options_;
    int cellCount_;
    double cellMm_;
    int firstCell_ = 0;
    std::vector<SiteNodes> siteNodes_;
    StripModel model_;
};

} // namespace

StripModel buildStripModel(const BenchSheet& sheet, const StripModelOptions& options)
{
    return Builder(sheet, options).build();
}

} // namespace stripwright
