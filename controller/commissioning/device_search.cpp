#include "commissioning/device_search.h"

#include "link/line_listener.h"
#include "link/line_silence.h"
#include "link/modbus_line.h"
#include "link/modbus_words.h"

#include <algorithm>
#include <numeric>
#include <utility>

namespace stripwright {

static constexpr int noPath = 0x0A, noTarget = 0x0B;
// Small devices refuse a request that goes past their last register.
static constexpr int mostAsked = 8;
static constexpr int illegalAddress = 2, illegalValue = 3;
// Where makers let a table begin, if not at 0.
static constexpr int likelyStarts[] = {1,    2,    3,    4,    5,    6,    7,    8,   10,  16,
                                       32,   50,   64,   100,  200,  256,  300,  400, 500, 512,
                                       1000, 1024, 2000, 2048, 3000, 4000, 4096, 8192};
static constexpr size_t fewestNoise = 2;

std::vector<int> tcpUnits()
{
    std::vector<int> units(247);
    std::iota(units.begin(), units.end(), 1);
    units.insert(units.end(), {255, 0});
    return units;
}

std::vector<int> likelyBauds()
{
    return {9600, 19200, 115200, 38400, 57600, 4800, 2400, 1200};
}

std::vector<SerialFrame> likelyFrames()
{
    using enum SerialFrame;
    return {F8N1, F8E1, F8O1, F8N2};
}

static std::string refusal(int exception)
{
    const std::string words = refusalInWords(exception); // "refused with exception 02 (illegal data address)"
    const size_t number = words.find("exception ") + 10, name = words.find('(');
    std::string text = "refuses (" + words.substr(number, 2);
    if (name != std::string::npos)
        text += " " + words.substr(name + 1, words.size() - name - 2);
    return text + ")";
}

namespace {

/// What one unit says to a read of registers: words, a refusal, or nothing.
struct Said {
    bool anything = false;
    int exception = 0;
    std::vector<std::uint16_t> words;

    bool noSuchPlace() const { return exception == illegalAddress || exception == illegalValue; }
};

class Search {
public:
    explicit Search(const DeviceSearch& asked) : asked_(asked), endS_(monotonicS() + asked.longestS) {}

    bool mayGoOn()
    {
        if (asked_.stopped())
            return false;
        if (monotonicS() < endS_)
            return true;
        if (!std::exchange(tookTooLong_, true))
            result.refusals.push_back("the search took longer than " +
                                      std::to_string(static_cast<int>(asked_.longestS)) +
                                      " s and was ended: name fewer units, or baud and frame");
        return false;
    }

    /// `ask`: one read of some words of a table, from a place on. True: this unit is a device, and it was
    /// told.
    template <class Ask> bool look(const PlateLink& link, Ask ask)
    {
        int inputFrom = 0, holdingFrom = 0;
        const Said input = firstOf(RegisterTable::Input, ask, inputFrom);
        if (!input.anything || input.exception == noPath || input.exception == noTarget)
            return false;
        const Said holding = firstOf(RegisterTable::Holding, ask, holdingFrom);
        const bool words = !input.words.empty() || !holding.words.empty();
        asked_.tellFound({link,
                          words ? "answers" : refusal(input.exception),
                          {inputFrom, input.words},
                          {holdingFrom, holding.words}});
        ++result.found;
        return true;
    }

    DeviceSearchResult result;

private:
    template <class Ask> static Said mostFrom(int start, RegisterTable table, Ask ask)
    {
        Said said;
        for (int count = mostAsked; count > 0; --count) {
            said = ask(table, start, count);
            if (!said.noSuchPlace())
                break;
        }
        return said;
    }

    template <class Ask> Said firstOf(RegisterTable table, Ask ask, int& from)
    {
        const Said atZero = mostFrom(0, table, ask);
        if (!atZero.noSuchPlace())
            return atZero;
        for (const int start : likelyStarts) {
            if (!mayGoOn())
                break;
            const Said one = ask(table, start, 1);
            if (!one.words.empty()) {
                from = start;
                return mostFrom(start, table, ask);
            }
            if (!one.noSuchPlace())
                break; // silent by now, or it refuses the whole table
        }
        return atZero;
    }

    const DeviceSearch& asked_;
    const double endS_;
    bool tookTooLong_ = false;
};

Said askLine(ModbusLine& line, RegisterTable table, int unit, int start, int count)
{
    Said said;
    std::vector<std::uint16_t> words(static_cast<size_t>(count));
    if (line.read({table, start, count, unit}, words.data()))
        said.words = words;
    said.exception = line.lastException();
    said.anything = !said.words.empty() || said.exception;
    return said;
}

void searchTcp(const DeviceSearch& asked, Search& search)
{
    PlateLink link = asked.line;
    std::optional<ModbusLine> line;
    try {
        line.emplace(link, 1.5);
    } catch (const LinkError& error) {
        search.result.refusals.push_back(error.what());
        return;
    }
    if (!line->open(1.5, asked.tcpAnswerS)) {
        search.result.refusals.push_back(line->error() +
                                         ". Check that the device is switched on, that its network cable is "
                                         "in, its address, and its port, 502 where nothing else is said");
        return;
    }
    bool everyUnit = false;
    for (size_t i = 0; i < asked.units.size() && !everyUnit && search.mayGoOn(); ++i) {
        link.unit = asked.units[i];
        if (i % 16 == 0)
            asked.tellStep(placeOf(link) + ", unit " + std::to_string(link.unit));
        if (!line->isOpen() && !line->open(1.5, asked.tcpAnswerS)) {
            search.result.refusals.push_back(line->error());
            return;
        }
        const auto ask = [&](RegisterTable table, int start, int count) {
            if (!line->isOpen())
                line->open(1.5, asked.tcpAnswerS);
            return askLine(*line, table, link.unit, start, count);
        };
        if (search.look(link, ask) && i == 0 && asked.units.size() > 100) {
            // A device that does not look at the unit would be found under every one of them.
            const auto answers = [&](int unit) {
                const Said said = askLine(*line, RegisterTable::Input, unit, 0, 1);
                return said.anything && said.exception != noPath && said.exception != noTarget;
            };
            everyUnit = answers(101) && answers(199) && answers(246);
            if (everyUnit)
                asked.tellStep("it answers under every unit, so it takes no notice of the number");
        }
    }
}

Said askSerial(LineListener& line, const ReadBlock& block, std::vector<std::uint8_t>& came)
{
    Said said;
    came = line.ask(block);
    if (!isFrame(came) || came[0] != block.unit)
        return said;
    said.anything = true;
    if (came[1] & 0x80) {
        said.exception = came[2];
    } else if (came.size() == 5 + 2 * static_cast<size_t>(block.count)) {
        for (size_t at = 3; at + 3 < came.size(); at += 2)
            said.words.push_back(static_cast<std::uint16_t>(came[at] << 8 | came[at + 1]));
    }
    return said;
}

std::string settingOf(const PlateLink& link)
{
    const std::string place = placeOf(link); // "/dev/ttyUSB0 at 9600 8E1"
    return place.substr(place.rfind(" at ") + 4);
}

// Bytes that are no frame of the unit asked; empty: none came.
std::string oddity(const PlateLink& link, const std::vector<std::uint8_t>& sent,
                   const std::vector<std::uint8_t>& came)
{
    if (came.size() < fewestNoise)
        return {};
    if (came.size() >= sent.size() && std::equal(sent.begin(), sent.end(), came.begin()))
        return "at " + settingOf(link) +
               " the line gives back what is sent: switch off the echo of the adapter";
    if (isFrame(came))
        return "at " + settingOf(link) + " unit " + std::to_string(came[0]) + " answered what unit " +
               std::to_string(sent[0]) + " was asked";
    return "at " + settingOf(link) + " something answers that is no Modbus frame";
}

// False: this device cannot be opened so.
bool searchSetting(const DeviceSearch& asked, Search& search, PlateLink link, std::string& cannot)
{
    LineListener line(*link.serial);
    if (!line.isOpen()) {
        cannot = link.serial->device + " cannot be set to " + settingOf(link);
        return false;
    }
    if (line.listen(0.1).size() >= 4)
        search.result.refusals.push_back(
            "at " + settingOf(link) +
            " bytes come that nobody asked for: another master may talk on this line");
    std::string odd;
    for (int unit : asked.units) {
        if (!search.mayGoOn())
            break;
        link.unit = unit;
        asked.tellStep(settingOf(link) + ", unit " + std::to_string(unit));
        std::vector<std::uint8_t> came;
        const auto ask = [&](RegisterTable table, int start, int count) {
            return askSerial(line, {table, start, count, unit}, came);
        };
        if (!search.look(link, ask) && odd.empty())
            odd = oddity(link, line.asked(), came);
    }
    if (!odd.empty())
        search.result.refusals.push_back(odd);
    return true;
}

void searchSerial(const DeviceSearch& asked, Search& search)
{
    PlateLink link = asked.line;
    SerialPort port;
    if (!port.take(link.serial->device)) {
        search.result.refusals.push_back(port.error());
        return;
    }
    port.release();
    bool anyOpened = false;
    std::string cannot;
    for (int baud : asked.bauds)
        for (SerialFrame frame : asked.frames) {
            if (search.result.found > 0 || !search.mayGoOn())
                return;
            link.serial->baud = baud;
            link.serial->frame = frame;
            anyOpened = searchSetting(asked, search, link, cannot) || anyOpened;
        }
    if (!anyOpened)
        search.result.refusals.push_back(cannot);
}

} // namespace

DeviceSearchResult searchDevices(const DeviceSearch& asked)
{
    Search search(asked);
    if (asked.line.serial)
        searchSerial(asked, search);
    else
        searchTcp(asked, search);
    if (search.result.found == 0 && search.result.refusals.empty())
        search.result.refusals.push_back(asked.stopped() ? "stopped before any device was found"
                                         : asked.line.serial
                                             ? "no device answered on " + asked.line.serial->device +
                                                   ". Check that it has power, that the wires are in, "
                                                   "whether A and B are swapped, its unit "
                                                   "number (--units), and a rate that was not tried"
                                             : "no device answered at " + placeOf(asked.line) +
                                                   " under the units that were tried (--units)");
    return search.result;
}

} // namespace stripwright
