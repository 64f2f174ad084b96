#include "models/plate_draft.h"

#include <QCoreApplication>
#include <QDir>

#include <algorithm>

namespace stripwright {

namespace {

QString say(const char* text)
{
    return QCoreApplication::translate("plateDraft", text);
}

constexpr int registerBits = 16;
const char* const tables[] = {"coil", "discrete", "", "input", "holding"}; // by the manual's first digit

} // namespace

bool isBit(const RegisterDraft& at)
{
    return at.table == QLatin1String("coil") || at.table == QLatin1String("discrete");
}

QStringList missingIn(const PlateDraft& draft)
{
    QStringList missing;
    if (draft.name.trimmed().isEmpty())
        missing += say("a name");
    if (draft.serial && draft.device.trimmed().isEmpty())
        missing += say("the device of the serial line");
    if (draft.serial && draft.baud == 0)
        missing += say("baud and frame");
    if (!draft.serial && draft.host.trimmed().isEmpty())
        missing += say("the host");
    if (!draft.sensor.address)
        missing += say("where the sensor stands");
    if (!draft.heat.address)
        missing += say("where the heat is driven");
    return missing;
}

QStringList registerCodings()
{
    QStringList all{"int16", "uint16"};
    for (const char* type : {"int32", "float32"})
        for (const char* order : {"ABCD", "CDAB", "BADC", "DCBA"})
            all += QString(type) + ' ' + order;
    return all + QStringList{"int16 BADC", "uint16 BADC"};
}

QString bitsText(int mask)
{
    QStringList bits;
    for (int bit = 0; bit < registerBits; ++bit)
        if (mask & 1 << bit)
            bits += QString::number(bit);
    return bits.join(QStringLiteral(", "));
}

std::optional<int> readBits(const QString& typed, QString& why)
{
    int mask = 0;
    QString text = typed;
    for (const QString& part : text.replace(',', ' ').split(' ', Qt::SkipEmptyParts)) {
        bool whole = false;
        const int bit = part.toInt(&whole);
        if (!whole || bit < 0 || bit >= registerBits) {
            why = say("“%1” is no bit; expected numbers from 0 to 15 such as 0 or 2, 5, the lowest bit being "
                      "0.")
                      .arg(part);
            return {};
        }
        mask |= 1 << bit;
    }
    return mask;
}

QStringList serialDevices()
{
    QStringList found;
    for (const char* folder : {"/dev/serial/by-id", "/dev"}) {
        const QDir dir(folder);
        const QStringList filters = QLatin1String(folder) == QLatin1String("/dev")
                                        ? QStringList{"ttyUSB*", "ttyACM*", "ttyS*"}
                                        : QStringList{"*"};
        for (const QString& name : dir.entryList(filters, QDir::System | QDir::Files, QDir::Name))
            found += dir.filePath(name);
    }
    return found;
}

QString manualNumber(const QString& table, int address)
{
    const auto at = std::ranges::find(tables, table.toStdString());
    return QString::number(at - std::begin(tables)) +
           QStringLiteral("%1").arg(address + 1, address < 9999 ? 4 : 5, 10, QChar('0'));
}

std::optional<ManualNumber> readManualNumber(const QString& typed, QString& why)
{
    const QString text = typed.trimmed();
    const bool digits = std::ranges::all_of(text, [](QChar c) { return c >= '0' && c <= '9'; });
    const int digit = text.isEmpty() ? -1 : text[0].digitValue();
    const int number = text.mid(1).toInt();
    const bool named = digit == 0 || digit == 1 || digit == 3 || digit == 4;
    if (digits && named && (text.size() == 5 || text.size() == 6) && number >= 1 && number <= 65536)
        return ManualNumber{tables[digit], number - 1};
    why = say("“%1” is no number of a manual such as 40001: first 0 coil, 1 discrete input, 3 input register "
              "or 4 holding register, then 4 or 5 digits counted from 1. An address from 0 goes into the "
              "field before.")
              .arg(text);
    return {};
}

} // namespace stripwright
