#pragma once

#include <cstddef>
#include <cstdint>

namespace stripwright {

/// One request and its answer over a connected Modbus TCP socket; both from the unit on. Returns the answer's
/// length, or -1 with errno set as libmodbus does.
///
/// Transaction and unit must be those that were asked for: libmodbus takes an answer in another unit's name.
/// `timeoutS` bounds the whole exchange, however the answer trickles in.

int exchangeOverTcp(int socket, std::uint16_t transaction, const std::uint8_t* request, size_t length,
                    std::uint8_t (&answer)[254], double timeoutS);

} // namespace stripwright
