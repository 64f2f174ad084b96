#include "interlocks/finding.h"

#include <algorithm>
#include <cstdarg>
#include <cstdio>

namespace stripwright {

Finding heaterOff(Interlock interlock, const char* format, ...)
{
    Finding finding{interlock, Action::HeaterOff, Clears::AfterOperatorReset, {}};
    va_list values;
    va_start(values, format);
    std::vsnprintf(finding.text.data(), finding.text.size(), format, values);
    va_end(values);
    return finding;
}

Finding warning(Interlock interlock, const char* format, ...)
{
    Finding finding{interlock, Action::Warn, Clears::WhenCauseEnds, {}};
    va_list values;
    va_start(values, format);
    std::vsnprintf(finding.text.data(), finding.text.size(), format, values);
    va_end(values);
    return finding;
}

bool Persistence::held(std::optional<bool> condition, double nowS, double forS)
{
    constexpr double cycles = 2.5;
    if (nowS - knownS_ > std::max(longestGapS, cycles * cycleS_))
        on_ = false;
    cycleS_ = asked_ ? nowS - askedS_ : 0;
    askedS_ = nowS;
    asked_ = true;
    if (!condition)
        return false;
    knownS_ = nowS;
    if (*condition && !on_)
        sinceS_ = nowS;
    on_ = *condition;
    return on_ && nowS - sinceS_ >= forS;
}

} // namespace stripwright
