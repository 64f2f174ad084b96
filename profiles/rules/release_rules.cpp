#include "rules/release_rules.h"

#include "rules/joint_solder.h"
#include "rules/wording.h"

namespace stripwright {

static std::string celsius(double value)
{
    return rounded(value) + " °C";
}

static constexpr const char* lensFootSoftens = "lens-foot-softens";

static bool softensFirst(const BenchSheet& sheet)
{
    return sheet.strip.lens && sheet.strip.glue && sheet.strip.glue->letsGo &&
           sheet.strip.lens->footMaxC < sheet.strip.glue->releaseHighC;
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
    std::vector<std::string> refusals;
    const double solidC = staysSolidBelowC(sheet);
    const std::string surelyAt = "The glue surely lets go only at " + celsius(glue.releaseHighC);
    if (glue.releaseHighC >= solidC - solidRoomK)
        refusals.push_back(surelyAt + ", and joints of the " +
                           (sheet.oldAlloy ? "old solder" : "unknown old solder") + " may move from " +
                           celsius(solidC) + ": LEDs would shift. Shear the lenses cold or cut them" +
                           (sheet.oldAlloy ? "." : ", or find out what the old solder is."));
    if (softensFirst(sheet) && !sheet.overridden(lensFootSoftens))
        refusals.push_back(
            surelyAt + ", and the foot of the lens softens at " + celsius(sheet.strip.lens->footMaxC) +
            ": it would be marked or lost. Shear it cold or cut it; if it is to be thrown away, name "
            "the override \"" +
            lensFootSoftens + "\" in the sheet's \"overrides\".");
    return refusals;
}

std::vector<std::string> releaseWarnings(const BenchSheet& sheet)
{
    const std::vector<int> targets = sheet.targets();
    if (targets.empty() || !softensFirst(sheet))
        return {};
    const bool one = targets.size() == 1;
    return {(one ? "Lens " : "Lenses ") + siteList(targets) + ": the foot softens at " +
            celsius(sheet.strip.lens->footMaxC) + ", its glue surely lets go only at " +
            celsius(sheet.strip.glue->releaseHighC) + ". " + (one ? "It" : "They") +
            " will be marked or lost: shear cold or cut, or have new ones ready."};
}

} // namespace stripwright
