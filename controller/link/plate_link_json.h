#pragma once

#include "link/plate_link.h"
#include "materials/json_fields.h"

namespace stripwright {

/// Kind of value a register holds: a scaled number; a whole number taken as it is; on or off; a heater's
/// duty, which is a scaled number in a register or on and off in a coil.
enum class Content { Quantity, Bits, Switch, Duty };

/// Where a register stands is read from "table" and "address", or from a manual's "document_number".
RegisterField readField(Fields& fields, Content content, bool onSerialLine);
nlohmann::json toJson(const RegisterField& field, Content content);

/// "unit", if it is there.
std::optional<int> readUnit(Fields& fields, bool onSerialLine);

/// "settings"; after all other registers are known.
void readSettings(Fields& root, PlateLink& link);
nlohmann::json settingsToJson(const PlateLink& link);

/// Everything below "registers". Of a plate whose drive is not known nothing is asked that hangs on it.
void readRegisters(Fields& registers, PlateLink& link, bool driveKnown);
nlohmann::json registersToJson(const PlateLink& link);

SerialLine readSerialLine(Fields fields);
nlohmann::json toJson(const SerialLine& serial);

IdentifiedPlate readIdentifiedPlate(Fields fields);
nlohmann::json toJson(const IdentifiedPlate& identified);

const std::string& nameOf(RegisterTable table); ///< As in the file: "coil", "discrete", "input", "holding".
const std::string& nameOf(RegisterType type);
const std::string& nameOf(WordOrder order);
const std::string& nameOf(SerialFrame frame);

} // namespace stripwright
