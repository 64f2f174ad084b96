#pragma once

#include "link/read_blocks.h"

#include <cstdint>

namespace stripwright {

std::string plain(double value);                     ///< Six digits.
std::string inWords(const ReadBlock& block);         ///< "input registers 0 to 9".
std::string inWordsWithUnit(const ReadBlock& block); ///< "input registers 0 to 9 of unit 1".
std::string described(int code, bool serial);        ///< An errno as libmodbus leaves it.
std::string refusalInWords(int exception);           ///< "refused with exception 02 (illegal data address)".
std::string hex(const std::uint8_t* bytes, size_t count); ///< "01 03 00".

bool isException(int code);  ///< The device answered that it will not.
bool isDamage(int code);     ///< An answer came that is none to what was asked.
bool deviceIsGone(int code); ///< The descriptor is of no use any more.

} // namespace stripwright
