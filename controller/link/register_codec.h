#pragma once

#include "link/plate_link.h"

#include <cstdint>
#include <optional>

namespace stripwright {

/// Registers a value takes: 1 or 2. A coil or discrete input counts as one word that is 0 or 1.
int wordsOf(const RegisterField& field);

/// Raw value in the registers, before scale and offset; every 16 and 32 bit integer is exact in a double.
/// The order names where the bytes of the big-endian value A B C D stand on the line: CDAB has the low word
/// first, BADC and DCBA have the bytes of each word swapped, which is how they act on a 16-bit value too.
/// Float32 may give NaN or infinity.
double decodeRaw(const std::uint16_t* words, RegisterType type, WordOrder order);

/// Inverse of decodeRaw; integers are rounded to nearest. False, and nothing written, if the value is not
/// finite or the type cannot hold it.
bool encodeRaw(double raw, RegisterType type, WordOrder order, std::uint16_t* words);

double decodeValue(const std::uint16_t* words, const RegisterField& field);       ///< raw * scale + offset.
bool encodeValue(double value, const RegisterField& field, std::uint16_t* words); ///< As encodeRaw.
bool typeHolds(double raw, RegisterType type);

} // namespace stripwright
