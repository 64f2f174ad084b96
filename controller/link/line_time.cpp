#include "link/line_time.h"

#include "link/read_blocks.h"
#include "link/register_codec.h"

#include <algorithm>

namespace stripwright {

static constexpr double tcpExchangeS = 0.01; // a small device on a local network
static constexpr int mostRegisters = 125;

static bool holdsBits(RegisterTable table)
{
    return table == RegisterTable::Coil || table == RegisterTable::Discrete;
}

double characterS(const SerialLine& line)
{
    return (line.frame == SerialFrame::F8N1 ? 10.0 : 11.0) / line.baud;
}

double frameSilenceS(const SerialLine& line)
{
    return line.baud > 19200 ? 0.00175 : 3.5 * characterS(line);
}

double longestSilenceS(const SerialLine& line)
{
    return std::max(frameSilenceS(line), line.turnroundS);
}

// Request: unit, function, address, count, checksum. Answer: unit, function, byte count, bytes, checksum.
int readCharacters(RegisterTable table, int count)
{
    return 8 + 5 + (holdsBits(table) ? (count + 7) / 8 : 2 * count);
}

// The answer repeats the head of the request.
int writeCharacters(RegisterTable table, int count)
{
    return (holdsBits(table) || count == 1 ? 8 : 9 + 2 * count) + 8;
}

double exchangeS(const SerialLine& line, int characters)
{
    return characters * characterS(line) + longestSilenceS(line) + frameSilenceS(line);
}

int longestGap(const PlateLink& link)
{
    if (!link.serial)
        return mostRegisters;
    const double askingS = exchangeS(*link.serial, readCharacters(RegisterTable::Holding, 0));
    return std::min(mostRegisters, static_cast<int>(askingS / (2 * characterS(*link.serial))));
}

double cycleS(const PlateLink& link)
{
    const RegisterField& driven = link.drive == DriveKind::Duty ? link.duty.value() : link.setpoint.value();
    const auto takesS = [&](int characters) {
        return link.serial ? exchangeS(*link.serial, characters) : tcpExchangeS;
    };
    double totalS = takesS(writeCharacters(driven.table, wordsOf(driven))) +
                    takesS(readCharacters(driven.table, wordsOf(driven)));
    if (link.enable) // written and read back in every cycle too
        totalS +=
            takesS(writeCharacters(link.enable->table, 1)) + takesS(readCharacters(link.enable->table, 1));
    for (const ReadBlock& block : planReadBlocks(cycleFields(link), true, longestGap(link)))
        totalS += takesS(readCharacters(block.table, block.count));
    double longestS = 0; // one request of the settings a cycle
    for (const ReadBlock& block : planReadBlocks(settingFields(link), false))
        longestS = std::max(longestS, takesS(readCharacters(block.table, block.count)));
    return totalS + longestS;
}

double usualPeriodS(const PlateLink& link)
{
    constexpr double shortestS = 0.2, room = 1.25;
    return std::max({shortestS, link.readingEveryS, link.serial ? room * cycleS(link) : 0});
}

} // namespace stripwright
