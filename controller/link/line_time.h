#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// Time one character takes: 10 bits for 8N1, 11 for the others.
double characterS(const SerialLine& line);

/// Silence that ends a frame: 3.5 characters, above 19200 baud 1.75 ms (Modbus over serial line
/// V1.02, 2.5.1.1).
double frameSilenceS(const SerialLine& line);

/// Silence after which no answer to an earlier request is expected any more.
double longestSilenceS(const SerialLine& line);

/// Characters of request and answer together, as RTU frames.
int readCharacters(RegisterTable table, int count);
int writeCharacters(RegisterTable table, int count);

/// How long one exchange holds the line if the device takes its longest turn-round:
/// characters, then max(3.5 characters, turn-round), then 3.5 characters.
double exchangeS(const SerialLine& line, int characters);

/// Registers that are read along rather than asked for around, because that takes no longer on this line.
int longestGap(const PlateLink& link);

/// How long the talk of one control cycle takes: every register read, the longest request of the settings,
/// the output that is driven written and read back. On a serial line as by exchangeS; over TCP 10 ms are
/// allowed for each exchange.
double cycleS(const PlateLink& link);

/// Control period of this plate in its own time where that is not driven faster: 0.2 s, as long as its
/// readings take, or a quarter more than the talk of a cycle on a serial line, whichever is longest.
double usualPeriodS(const PlateLink& link);

} // namespace stripwright
