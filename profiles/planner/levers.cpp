#include "planner/levers.h"

#include "planner/sink_block_place.h"
#include "rules/alloy_rules.h"
#include "rules/joint_solder.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>
#include <future>
#include <set>

namespace stripwright {

namespace {

bool reachesTargets(const BenchSheet& sheet)
{
    if (sheet.heat == HeatKind::Release) // Feet beside the plate are warmed along the strip.
        return true;
    for (int site : sheet.targets()) {
        const double x = sheet.strip.siteXMm[site - 1];
        if (x < sheet.plateStartMm || x > sheet.plateEndMm())
            return false;
    }
    return true;
}

/// Lenses that any of the heats costs.
std::vector<int> lostIn(const std::vector<HeatAnswer>& heats)
{
    std::set<int> all;
    for (const HeatAnswer& heat : heats)
        for (const int site : lostLenses(heat.answer.margins))
            all.insert(site);
    return {all.begin(), all.end()};
}

class Levers {
public:
    Levers(const BenchSheet& sheet, const Shelf& shelf, const std::vector<HeatAnswer>& base)
        : sheet_(sheet), shelf_(shelf), heats_(base), base_(base.front().answer)
    {
    }

    std::vector<Lever> all()
    {
        lensesOff();
        contacts();
        // Of several heats each has a place of its own.
        if (heats_.size() == 1) {
            sinkBlocks();
            places();
        }
        if (meltsJoints(sheet_.heat)) {
            cooling();
            ways();
            if (sheet_.usesFreshSolder())
                pastes();
            plates();
            ramps();
        }
        return std::move(levers_);
    }

private:
    void add(const char* id, std::string what, std::function<void(BenchSheet&)> change)
    {
        Lever lever{id, std::move(what), std::move(change)};
        const BenchSheet changed = lever.on(sheet_);
        const bool reaches = reachesTargets(changed) || !reachesTargets(sheet_);
        if (blocksFit(changed) && reaches)
            levers_.push_back(std::move(lever));
    }

    void lensesOff()
    {
        std::vector<int> off = lostIn(heats_);
        if (off.empty()) // then the one that is the hardest to keep
            for (const MarginRow& row : base_.margins)
                if (const int site = lensSiteOf(row.limit); site > 0 && off.empty())
                    off = {site};
        if (off.empty())
            return;
        const bool release = sheet_.heat == HeatKind::Release;
        add("lens-off",
            (release ? "release the lens in the same heat at " : "lens off at ") + sitesInWords(off),
            [off, release](BenchSheet& sheet) {
                for (int site : off)
                    sheet.sites[static_cast<size_t>(site - 1)].lens =
                        release ? LensState::Release : LensState::Off;
            });
    }

    void sinkBlocks()
    {
        if (!sheet_.strip.lens)
            return;
        const auto placing = [](std::vector<PlacedSinkBlock> blocks) {
            return [blocks = std::move(blocks)](BenchSheet& sheet) {
                sheet.sinkBlocks.insert(sheet.sinkBlocks.end(), blocks.begin(), blocks.end());
            };
        };
        const BenchSheet& lying = heats_.front().sheet;
        for (const SinkBlock& block : shelf_.sinkBlocks) {
            auto before =
                std::async(std::launch::async, [&] { return bestBlockPlace(lying, base_, block, false); });
            std::vector<PlacedSinkBlock> sides;
            const auto beyond = bestBlockPlace(lying, base_, block, true);
            for (const auto& placed : {before.get(), beyond})
                if (placed)
                    sides.push_back(*placed);
            for (const PlacedSinkBlock& placed : sides)
                add("sink-block", "one " + lowered(block.name) + ", " + whereOf(placed), placing({placed}));
            if (sides.size() == 2)
                add("sink-block",
                    "two of " + lowered(block.name) + ", " + whereOf(sides[0]) + " and " + whereOf(sides[1]),
                    placing(sides));
        }
    }

    std::string whereOf(const PlacedSinkBlock& placed) const
    {
        const bool right = placed.startMm >= sheet_.plateEndMm();
        const double gap = right ? placed.startMm - sheet_.plateEndMm()
                                 : sheet_.plateStartMm - placed.startMm - placed.block.lengthMm;
        return millimetres(gap) + (right ? " beyond the plate's far edge" : " before the plate's near edge");
    }

    void cooling()
    {
        if (!sheet_.cooling.fan && sheet_.plate.fanLossWPerK > 0)
            add("fan", "fan on the plate from heater-off",
                [](BenchSheet& sheet) { sheet.cooling.fan = true; });
        if (sheet_.cooling.liftBelowC)
            return;
        const double solidC = movableAboveC(sheet_) - 5;
        add("lift",
            "lifting the strip off once its joints are solid, below " + std::to_string(std::lround(solidC)) +
                " °C",
            [solidC](BenchSheet& sheet) { sheet.cooling.liftBelowC = solidC; });
        add("lift-liquid",
            "lifting the strip off right after the peak, straight up and level (its joints are then still "
            "liquid and must not be jerked)",
            [](BenchSheet& sheet) {
                sheet.cooling.liftBelowC = meltRangeOf(sheet).liquidusC + 10;
                sheet.cooling.acceptsMovingMolten = true;
            });
    }

    void ways()
    {
        for (const SwapWay way : {SwapWay::SolderLeft, SwapWay::TinnedLed, SwapWay::WarmedLed,
                                  SwapWay::ChargeLaidCold, SwapWay::TwoHeats})
            if (sheet_.heat != HeatKind::Swap || sheet_.way != way)
                add("way", (way == SwapWay::TwoHeats ? "" : "swap ") + inWords(way),
                    [way](BenchSheet& sheet) {
                        sheet.heat = HeatKind::Swap;
                        sheet.way = way;
                    });
    }

    void pastes()
    {
        for (const Paste& paste : shelf_.pastes)
            if (paste.id != sheet_.paste.id)
                add("paste", "paste " + paste.name, [paste](BenchSheet& sheet) { sheet.paste = paste; });
    }

    void contacts()
    {
        for (const ContactCondition& contact : shelf_.contacts)
            if (contact.id != sheet_.contact.id && contact.lowWPerM2K >= sheet_.contact.lowWPerM2K)
                add("contact", "contact: " + lowered(contact.name),
                    [contact](BenchSheet& sheet) { sheet.contact = contact; });
    }

    void places()
    {
        const double startMm = heats_.front().sheet.plateStartMm;
        const double middle = startMm + sheet_.plate.lengthMm / 2;
        const auto at = [](double mm) { return [mm](BenchSheet& sheet) { sheet.movePlateTo(mm); }; };
        for (double byMm : {-15.0, -8.0, 8.0, 15.0})
            add("place",
                "plate " + millimetres(std::abs(byMm)) + (byMm < 0 ? " nearer to" : " farther from") +
                    " the connector end, its start at " + millimetres(startMm + byMm),
                at(startMm + byMm));
        double first = sheet_.strip.lengthMm, last = 0;
        for (int site : sheet_.targets()) {
            first = std::min(first, sheet_.strip.siteXMm[static_cast<size_t>(site - 1)]);
            last = std::max(last, sheet_.strip.siteXMm[static_cast<size_t>(site - 1)]);
        }
        const double centredMm = (first + last - sheet_.plate.lengthMm) / 2;
        if (std::abs((first + last) / 2 - middle) > 1)
            add("place", "plate centred under the targets, its start at " + millimetres(centredMm),
                at(centredMm));
    }

    void plates()
    {
        const double middle = (sheet_.plateStartMm + sheet_.plateEndMm()) / 2;
        for (const PlateType& plate : shelf_.plates)
            if (plate.id != sheet_.plate.id)
                add("plate",
                    lowered(plate.name) + ", its start at " + millimetres(middle - plate.lengthMm / 2),
                    [plate, middle](BenchSheet& sheet) {
                        sheet.plate = plate;
                        sheet.movePlateTo(middle - plate.lengthMm / 2);
                        sheet.cooling.fan = sheet.cooling.fan && plate.fanLossWPerK > 0;
                    });
    }

    // Slower spares boards and paste, faster spares lenses; both are asked of the pasted joint itself.
    void ramps()
    {
        const auto row = std::find_if(base_.margins.begin(), base_.margins.end(), [](const MarginRow& one) {
            return one.limit.metric == Metric::SteepestRise && !one.limit.protects && one.low && one.high;
        });
        if (sheet_.heat != HeatKind::Fit || row == base_.margins.end())
            return;
        constexpr double slower = 0.7, faster = 1.25, insideMost = 0.95;
        char text[64];
        const double mostCPerS = slower * *row->high;
        std::snprintf(text, sizeof text, "slower ramp, at most %.1f K/s", mostCPerS);
        add("ramp", text, [mostCPerS](BenchSheet& sheet) { sheet.paste.rampCPerS.max = mostCPerS; });
        const double leastCPerS =
            std::min(faster * *row->low, insideMost * sheet_.paste.rampCPerS.max.value_or(3));
        std::snprintf(text, sizeof text, "faster ramp, at least %.1f K/s", leastCPerS);
        if (leastCPerS > *row->low)
            add("ramp", text, [leastCPerS](BenchSheet& sheet) { sheet.paste.rampCPerS.min = leastCPerS; });
    }

    const BenchSheet& sheet_;
    const Shelf& shelf_;
    const std::vector<HeatAnswer>& heats_;
    const PredictedHeat& base_; ///< Of the first heat.
    std::vector<Lever> levers_;
};

} // namespace

std::vector<Lever> leversOf(const BenchSheet& sheet, const Shelf& shelf, const std::vector<HeatAnswer>& base)
{
    return Levers(sheet, shelf, base).all();
}

} // namespace stripwright
