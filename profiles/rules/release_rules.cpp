#include "rules/release_rules.h"

#include "rules/joint_solder.h"
#include "rules/wording.h"

namespace stripwright {

static std::string celsius(double value)
{
    return rounded(value) + " °C";
}

std::vector<std::string> releaseRefusals(const BenchSheet& sheet)
{
    if (!sheet.strip.lens)
        return {"This strip type has no lenses: there is nothing to release."};
    if (!sheet.strip.glue)
        return {"The glue of the lenses is not known: name it in the strip type, or try one lens by hand."};
    const Glue& glue = *sheet.strip.glue;
    if (!glue.letsGo)
        return {"The lenses are set in " + glue.name +
                ", which no heat makes let go: cut it cold with a blade or wire, level with the board."};
    const double solidC = staysSolidBelowC(sheet);
    if (glue.letsGoC >= solidC - solidRoomK)
        return {"The glue lets go at " + celsius(glue.letsGoC) + ", and joints of the " +
                (sheet.oldAlloy ? "old solder" : "unknown old solder") + " may move from " + celsius(solidC) +
                ": LEDs would shift. Shear the lenses cold or cut them" +
                (sheet.oldAlloy ? "." : ", or find out what the old solder is.")};
    return {};
}

std::vector<std::string> releaseWarnings(const BenchSheet& sheet)
{
    const std::vector<int> targets = sheet.targets();
    if (targets.empty() || !sheet.strip.lens || !sheet.strip.glue || !sheet.strip.glue->letsGo)
        return {};
    const Lens& lens = *sheet.strip.lens;
    const Glue& glue = *sheet.strip.glue;
    std::vector<std::string> warnings;
    const bool one = targets.size() == 1;
    if (lens.footMaxC < glue.letsGoC)
        warnings.push_back((one ? "Lens " : "Lenses ") + siteList(targets) + ": the foot softens at " +
                           celsius(lens.footMaxC) + ", its glue lets go only at " + celsius(glue.letsGoC) +
                           ". " + (one ? "It" : "They") +
                           " will be marked or lost: shear cold or cut, or have new ones ready.");
    return warnings;
}

} // namespace stripwright
