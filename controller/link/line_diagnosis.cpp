#include "link/line_diagnosis.h"

#include "link/line_listener.h"
#include "link/line_silence.h"
#include "link/line_time.h"
#include "link/modbus_words.h"
#include "link/register_codec.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace stripwright {

static constexpr double listeningS = 0.5, scanningS = 2;
static constexpr int lastUnitTried = 10;

std::string adviceAfterRefusal(const PlateLink& link, ModbusLine& line, const ReadBlock& asked, int exception)
{
    if (exception == 0x0A || exception == 0x0B)
        return "A gateway answers, but nothing behind it as unit " + std::to_string(asked.unit) +
               ". Check \"unit\" in the plate link file, and the wires and the power behind the gateway";
    std::string refused;
    for (const NamedField& named : namedCycleFields(link)) {
        const ReadBlock block{named.field.table, named.field.address, wordsOf(named.field),
                              *named.field.unit};
        std::uint16_t words[2];
        if (block.unit != asked.unit || line.read(block, words) || !line.lastException())
            continue;
        refused += (refused.empty() ? "" : ", ") + named.key + " (" + inWordsWithUnit(block) + ": " +
                   refusalInWords(line.lastException()) + ")";
    }
    const std::string which = refused.empty() ? "" : ". It refuses " + refused;
    return "Check the addresses and tables in the plate link file against the plate's manual; \"address\" "
           "counts from 0, numbers such as 40001 go into \"document_number\"" +
           which;
}

std::string adviceWithoutAnswer(const ReadBlock& asked)
{
    return "Check that this is the plate, and the unit number in the plate link file, now " +
           std::to_string(asked.unit);
}

static std::string count(size_t bytes)
{
    return std::to_string(bytes) + (bytes == 1 ? " byte" : " bytes");
}

static std::string tryOtherSettings(const SerialLine& serial, size_t bytes)
{
    return count(bytes) + " came that " + (bytes == 1 ? "is" : "are") +
           " no Modbus frame: try another \"baud\" or \"frame\" (parity), now " +
           std::to_string(serial.baud) + " " +
           std::string(serial.frame == SerialFrame::F8N1   ? "8N1"
                       : serial.frame == SerialFrame::F8E1 ? "8E1"
                       : serial.frame == SerialFrame::F8O1 ? "8O1"
                                                           : "8N2") +
           ", as the plate is set; if they are right, the line is disturbed: check its ends and its shield";
}

// Empty: the answer says nothing about the cause.
static std::string judged(const SerialLine& serial, const std::vector<std::uint8_t>& sent,
                          const std::vector<std::uint8_t>& came, int askedUnit)
{
    if (came.empty())
        return {};
    if (came.size() >= sent.size() && std::equal(sent.begin(), sent.end(), came.begin()))
        return "The line gives back what is sent: switch off the echo of the adapter (it must not listen "
               "while "
               "it sends), or set \"direction\" if the computer has to turn the line round";
    if (!isFrame(came))
        return tryOtherSettings(serial, came.size());
    if (came[0] != askedUnit)
        return "Unit " + std::to_string(came[0]) + " answered what unit " + std::to_string(askedUnit) +
               " was asked: check \"unit\" in the plate link file";
    return "Asked once more it answered: the line is not reliable, or the plate takes longer to answer than "
           "\"turnround_ms\", now " +
           std::to_string(std::lround(serial.turnroundS * 1000));
}

static std::string lookAtUnits(LineListener& line, const SerialLine& serial, ReadBlock asked)
{
    const int wanted = asked.unit;
    const double endS = monotonicS() + scanningS;
    int looked = 0;
    for (int unit = 1; unit <= lastUnitTried && monotonicS() < endS; ++unit) {
        if (unit == wanted)
            continue;
        asked.unit = unit;
        const auto came = line.ask(asked);
        looked = unit;
        if (isFrame(came) && came[0] == unit)
            return "Nothing came from unit " + std::to_string(wanted) + ", but unit " + std::to_string(unit) +
                   " answers: check \"unit\" in the plate link file and the number set at the plate";
        if (!came.empty())
            return tryOtherSettings(serial, came.size());
    }
    return "Nothing came, from unit " + std::to_string(wanted) + " nor from units 1 to " +
           std::to_string(looked) +
           ". Check that the plate has power, that the wires are in, whether A and B are swapped, and that "
           "\"baud\", \"frame\" and \"unit\" in the plate link file are the plate's";
}

std::string adviceAfterSilence(const PlateLink& link, const ReadBlock& asked)
{
    const SerialLine& serial = link.serial.value();
    LineListener line(serial);
    if (!line.isOpen())
        return "The serial line could not be listened to";
    if (const auto heard = line.listen(listeningS); heard.size() >= 4)
        return count(heard.size()) + " came that nobody asked for: another master seems to talk on this "
                                     "line. There can be only one: "
                                     "end the other program, or take the other device off the line";
    const auto came = line.ask(asked);
    if (std::string found = judged(serial, line.asked(), came, asked.unit); !found.empty())
        return found;
    return lookAtUnits(line, serial, asked);
}

// Values that devices give for "no sensor", whether the file names them or not.
static bool meansNoSensor(double raw, const PlateLink& link)
{
    const auto equals = [&](double none) { return raw == none; };
    return !std::isfinite(raw) ||
           std::any_of(link.noSensorRaw.begin(), link.noSensorRaw.end(),
                       [&](long none) { return equals(static_cast<double>(none)); }) ||
           equals(-32768) || equals(32767) || equals(65535) || equals(-9999) || equals(9999);
}

std::string adviceOnWordOrder(const PlateLink& link, const std::uint16_t* words)
{
    const RegisterField& sensor = link.sensor;
    const auto read = [&](WordOrder order) {
        RegisterField field = sensor;
        field.order = order;
        return decodeValue(words, field);
    };
    const auto plausible = [&](WordOrder order) {
        const double valueC = read(order), raw = decodeRaw(words, sensor.type, order);
        const bool tiny = raw != 0 && std::abs(raw) < 1e-4; // a float whose bytes stand elsewhere
        return std::isfinite(valueC) && !tiny && valueC >= link.sensorMinC && valueC <= link.sensorMaxC;
    };
    if (plausible(sensor.order) || meansNoSensor(decodeRaw(words, sensor.type, sensor.order), link))
        return {};
    static const char* const names[] = {"ABCD", "CDAB", "BADC", "DCBA"};
    char text[160];
    std::snprintf(text, sizeof text, "%.4g °C in order %s, outside of %g to %g °C", read(sensor.order),
                  names[static_cast<size_t>(sensor.order)], link.sensorMinC, link.sensorMaxC);
    std::string advice = text;
    bool mended = false;
    for (WordOrder order : {WordOrder::ABCD, WordOrder::CDAB, WordOrder::BADC, WordOrder::DCBA}) {
        if (order == sensor.order)
            continue;
        const char* name = names[static_cast<size_t>(order)];
        if (plausible(order)) {
            mended = true;
            std::snprintf(text, sizeof text, "; as %s it would read %.1f °C: try \"order\": \"%s\"", name,
                          read(order), name);
        } else {
            std::snprintf(text, sizeof text, "; as %s it would read %.4g °C", name, read(order));
        }
        advice += text;
    }
    return mended ? advice : std::string();
}

} // namespace stripwright
