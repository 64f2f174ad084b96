#include "rules/wording.h"

#include <cctype>
#include <cmath>
#include <cstdio>

namespace stripwright {

std::string rounded(double value)
{
    return std::to_string(std::lround(value));
}

std::string millimetres(double value)
{
    char text[32];
    std::snprintf(text, sizeof text, "%.1f", value);
    std::string figure = text;
    if (figure.ends_with(".0"))
        figure.resize(figure.size() - 2);
    if (figure == "-0")
        figure = "0";
    if (figure.starts_with('-'))
        figure.replace(0, 1, "−");
    return figure + " mm";
}

std::string clockInWords(double seconds)
{
    constexpr long hourS = 3600;
    const long whole = std::lround(std::abs(seconds)), minutes = std::lround(std::abs(seconds) / 60);
    char text[48];
    if (whole < hourS)
        std::snprintf(text, sizeof text, "%s%ld:%02ld", seconds < 0 && whole > 0 ? "-" : "", whole / 60,
                      whole % 60);
    else
        std::snprintf(text, sizeof text, "%s%ld h %02ld min", seconds < 0 ? "-" : "", minutes / 60,
                      minutes % 60);
    return text;
}

std::string capital(std::string text)
{
    if (!text.empty())
        text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
    return text;
}

std::string lowered(std::string text)
{
    if (!text.empty())
        text[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(text[0])));
    return text;
}

std::string siteList(const std::vector<int>& sites)
{
    std::string text;
    for (size_t i = 0; i < sites.size();) {
        size_t last = i;
        while (last + 1 < sites.size() && sites[last + 1] == sites[last] + 1)
            ++last;
        text += (text.empty() ? "" : ", ") + std::to_string(sites[i]);
        if (last > i)
            text += (last == i + 1 ? ", " : "-") + std::to_string(sites[last]);
        i = last + 1;
    }
    return text;
}

std::string sitesInWords(const std::vector<int>& sites)
{
    return (sites.size() == 1 ? "site " : "sites ") + siteList(sites);
}

std::string inWords(HeatKind heat)
{
    static constexpr const char* words[] = {"swap", "fit", "remove", "release", "bake"};
    return words[static_cast<size_t>(heat)];
}

std::string inWords(SwapWay way)
{
    switch (way) {
    case SwapWay::TinnedLed:
        return "on the solder left, with a tinned LED";
    case SwapWay::WarmedLed:
        return "on the solder left, with an LED warmed on the strip";
    case SwapWay::ChargeLaidCold:
        return "with a charge of solder laid cold";
    case SwapWay::TwoHeats:
        return "two heats, one for taking off and, on clean cold pads with paste, one for fitting";
    case SwapWay::SolderLeft:
        break;
    }
    return "on the solder left";
}

} // namespace stripwright
