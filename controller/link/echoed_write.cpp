#include "link/echoed_write.h"

#include "link/modbus_words.h"

#include <algorithm>
#include <cerrno>

namespace stripwright {

int writeComparingEcho(modbus_t* modbus, const ReadBlock& place, const std::uint16_t* words, bool serial,
                       std::string& echo)
{
    std::uint8_t request[7 + 2 * MODBUS_MAX_WRITE_REGISTERS], answer[MODBUS_MAX_ADU_LENGTH];
    const bool coil = place.table == RegisterTable::Coil, one = place.count == 1;
    const int second = coil ? (words[0] ? 0xFF00 : 0) : one ? words[0] : place.count;
    request[0] = static_cast<std::uint8_t>(place.unit);
    request[1] = coil  ? MODBUS_FC_WRITE_SINGLE_COIL
                 : one ? MODBUS_FC_WRITE_SINGLE_REGISTER
                       : MODBUS_FC_WRITE_MULTIPLE_REGISTERS;
    int length = 2;
    const auto put = [&](int word) {
        request[length++] = static_cast<std::uint8_t>(word >> 8);
        request[length++] = static_cast<std::uint8_t>(word);
    };
    put(place.start);
    put(second);
    if (!one) {
        request[length++] = static_cast<std::uint8_t>(2 * place.count);
        for (int i = 0; i < place.count; ++i)
            put(words[i]);
    }
    if (modbus_send_raw_request(modbus, request, length) == -1)
        return -1;
    const int got = modbus_receive_confirmation(modbus, answer);
    if (got == -1)
        return -1;
    const int header = modbus_get_header_length(modbus);
    const std::uint8_t* came = answer + header - 1; // from the unit on
    const int echoed = 6;
    if (came[0] != request[0]) {
        errno = EMBBADSLAVE;
        return -1;
    }
    if (came[1] == (request[1] | 0x80)) {
        errno = MODBUS_ENOBASE + came[2];
        return -1;
    }
    const int checksum = serial ? 2 : 0;
    if (got != header - 1 + echoed + checksum || !std::equal(came, came + echoed, request)) {
        echo = "sent " + hex(request, echoed) + ", but the answer is " +
               hex(came, static_cast<size_t>(std::clamp(got - header + 1 - checksum, 0, echoed)));
        errno = EMBBADDATA;
        return -1;
    }
    return place.count;
}

} // namespace stripwright
