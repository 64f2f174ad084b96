#include "planner/levers.h"

#include "rules/alloy_rules.h"
#include "planner/sink_block_place.h"
#include "rules/wording.h"

#include <algorithm>
#include <cmath>
#include <future>

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

class Levers {
public:
    Levers(const BenchSheet& sheet, const Shelf& shelf, const Answer& base)
        : sheet_(sheet), shelf_(shelf), base_(base)
    {
    }

    std::vector<Lever> all()
    {
        lensesOff();
        sinkBlocks();
        contacts();
        places();
        if (meltsJoints(sheet_.heat)) {
            cooling();
            heats();
            pastes();
            plates();
            ramps();
        }
        return std::move(levers_);
    }

private:
    void add(const char* id, std::string what, BenchSheet sheet)
    {
        if (blocksFit(sheet) && reachesTargets(sheet))
            levers_.push_back({id, std::move(what), std::move(sheet), {}});
    }

    void lensesOff()
    {
        std::vector<int> off = lostLenses(base_.margins);
        if (off.empty()) // then the one that is the hardest to keep
            for (const MarginRow& row : base_.margins)
                if (const int site = lensSiteOf(row.limit); site > 0 && off.empty())
                    off = {site};
        if (off.empty())
            return;
        const bool release = sheet_.heat == HeatKind::Release;
        BenchSheet without = sheet_;
        for (int site : off)
            without.sites[site - 1].lens = release ? LensState::Release : LensState::Off;
        add("lens-off",
            (release ? "release the lens in the same heat at " : "lens off at ") + sitesInWords(off),
            without);
    }

    void sinkBlocks()
    {
        if (!sheet_.strip.lens)
            return;
        for (const SinkBlock& block : shelf_.sinkBlocks) {
            auto before =
                std::async(std::launch::async, [&] { return bestBlockPlace(sheet_, base_, block, false); });
            std::vector<PlacedSinkBlock> sides;
            const auto beyond = bestBlockPlace(sheet_, base_, block, true);
            for (const auto& placed : {before.get(), beyond})
                if (placed)
                    sides.push_back(*placed);
            for (const PlacedSinkBlock& placed : sides) {
                BenchSheet sheet = sheet_;
                sheet.sinkBlocks.push_back(placed);
                add("sink-block", "one " + lowered(block.name) + ", " + whereOf(placed), sheet);
            }
            if (sides.size() == 2) {
                BenchSheet sheet = sheet_;
                sheet.sinkBlocks.insert(sheet.sinkBlocks.end(), sides.begin(), sides.end());
                add("sink-block",
                    "two of " + lowered(block.name) + ", " + whereOf(sides[0]) + " and " + whereOf(sides[1]),
                    sheet);
            }
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
        if (!sheet_.cooling.fan && sheet_.plate.fanLossWPerK > 0) {
            BenchSheet sheet = sheet_;
            sheet.cooling.fan = true;
            add("fan", "fan on the plate from heater-off", sheet);
        }
        const double solidC = movableAboveC(sheet_) - 5;
        if (sheet_.cooling.liftBelowC)
            return;
        BenchSheet solid = sheet_;
        solid.cooling.liftBelowC = solidC;
        add("lift",
            "lifting the strip off once its joints are solid, below " + std::to_string(std::lround(solidC)) +
                " °C",
            solid);
        BenchSheet liquid = sheet_;
        liquid.cooling.liftBelowC = sheet_.paste.peakC.min.value_or(sheet_.paste.alloy.liquidusC + 10);
        liquid.cooling.acceptsMovingMolten = true;
        add("lift-liquid",
            "lifting the strip off right after the peak, straight up and level (its joints are then still "
            "liquid and must not be jerked)",
            liquid);
    }

    void heats()
    {
        BenchSheet sheet = sheet_;
        if (sheet_.heat == HeatKind::Swap) {
            sheet.heat = HeatKind::Remove;
            BenchSheet second = sheet_;
            second.heat = HeatKind::Fit;
            levers_.push_back(
                {"two-heats",
                 "two heats, one for taking the dead LED off and, on clean pads, one for fitting "
                 "the new one (neighbours that melt spend two passes)",
                 std::move(sheet), std::move(second)});
        } else if (sheet_.heat == HeatKind::Fit || sheet_.heat == HeatKind::Remove) {
            sheet.heat = HeatKind::Swap;
            add("one-heat", "one heat for taking off and fitting", sheet);
        }
    }

    void pastes()
    {
        for (const Paste& paste : shelf_.pastes) {
            BenchSheet sheet = sheet_;
            sheet.paste = paste;
            if (paste.id != sheet_.paste.id)
                add("paste", "paste " + paste.name, sheet);
        }
    }

    void contacts()
    {
        for (const ContactCondition& contact : shelf_.contacts) {
            BenchSheet sheet = sheet_;
            sheet.contact = contact;
            if (contact.id != sheet_.contact.id && contact.lowWPerM2K >= sheet_.contact.lowWPerM2K)
                add("contact", "contact: " + lowered(contact.name), sheet);
        }
    }

    void places()
    {
        const double middle = (sheet_.plateStartMm + sheet_.plateEndMm()) / 2;
        for (double byMm : {-15.0, -8.0, 8.0, 15.0}) {
            BenchSheet sheet = sheet_;
            sheet.plateStartMm += byMm;
            add("place",
                "plate " + millimetres(std::abs(byMm)) + (byMm < 0 ? " nearer to" : " farther from") +
                    " the connector end, its start at " + millimetres(sheet.plateStartMm),
                sheet);
        }
        double first = sheet_.strip.lengthMm, last = 0;
        for (int site : sheet_.targets()) {
            first = std::min(first, sheet_.strip.siteXMm[site - 1]);
            last = std::max(last, sheet_.strip.siteXMm[site - 1]);
        }
        BenchSheet centred = sheet_;
        centred.plateStartMm = (first + last - sheet_.plate.lengthMm) / 2;
        if (std::abs((first + last) / 2 - middle) > 1)
            add("place", "plate centred under the targets, its start at " + millimetres(centred.plateStartMm),
                centred);
    }

    void plates()
    {
        const double middle = (sheet_.plateStartMm + sheet_.plateEndMm()) / 2;
        for (const PlateType& plate : shelf_.plates) {
            BenchSheet sheet = sheet_;
            sheet.plate = plate;
            sheet.plateStartMm = middle - plate.lengthMm / 2;
            sheet.cooling.fan = sheet_.cooling.fan && plate.fanLossWPerK > 0;
            if (plate.id != sheet_.plate.id)
                add("plate", lowered(plate.name) + ", its start at " + millimetres(sheet.plateStartMm),
                    sheet);
        }
    }

    // Slower spares boards and paste, faster spares lenses; both are asked of the joint itself.
    void ramps()
    {
        const auto row = std::find_if(base_.margins.begin(), base_.margins.end(), [](const MarginRow& one) {
            return one.limit.metric == Metric::SteepestRise && one.low && one.high;
        });
        if (row == base_.margins.end())
            return;
        constexpr double slower = 0.7, faster = 1.25, insideMost = 0.95;
        char text[64];
        BenchSheet sheet = sheet_;
        sheet.paste.rampCPerS.max = slower * *row->high;
        std::snprintf(text, sizeof text, "slower ramp, at most %.1f K/s", *sheet.paste.rampCPerS.max);
        add("ramp", text, sheet);
        sheet = sheet_;
        const double most = sheet_.paste.rampCPerS.max.value_or(3);
        sheet.paste.rampCPerS.min = std::min(faster * *row->low, insideMost * most);
        std::snprintf(text, sizeof text, "faster ramp, at least %.1f K/s", *sheet.paste.rampCPerS.min);
        if (*sheet.paste.rampCPerS.min > *row->low)
            add("ramp", text, sheet);
    }

    const BenchSheet& sheet_;
    const Shelf& shelf_;
    const Answer& base_;
    std::vector<Lever> levers_;
};

} // namespace

std::vector<Lever> leversOf(const BenchSheet& sheet, const Shelf& shelf, const Answer& base)
{
    return Levers(sheet, shelf, base).all();
}

} // namespace stripwright
