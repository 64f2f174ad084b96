#include "levers.h"

#include "rules/wording.h"

#include <algorithm>
#include <cstdio>

namespace stripwright::figures {

Judgement judgementOf(const HeatPlan& plan)
{
    Judgement judgement{lostLenses(plan.margins), {}};
    for (const MarginRow& row : plan.margins) {
        const bool ofLostLens =
            std::count(judgement.lost.begin(), judgement.lost.end(), lensSiteOf(row.limit));
        if (!row.limit.habit && !ofLostLens &&
            (!judgement.tightest || row.normalisedMargin < judgement.tightest->normalisedMargin))
            judgement.tightest = row;
    }
    return judgement;
}

std::string inWords(const MarginRow& row)
{
    const std::string unit = row.limit.unit();
    char text[160];
    std::snprintf(text, sizeof text, "%s: %+.*f %s (%.3f)", row.limit.what.c_str(), unit == "K/s" ? 2 : 1,
                  row.margin, unit == "°C" ? "K" : unit.c_str(), row.normalisedMargin);
    return text;
}

std::string lensesInWords(const std::vector<int>& off)
{
    return off.empty() ? "none" : sitesInWords(off);
}

BenchSheet withLensesOff(BenchSheet sheet, const std::vector<int>& off)
{
    for (int site : off)
        sheet.sites[static_cast<size_t>(site - 1)].lens = LensState::Off;
    return sheet;
}

} // namespace stripwright::figures
