#include "bench/plate_server.h"

#include <chrono>

namespace stripwright {

PlateLink linkTo(const RegisterDevice& device, const PlateServer& server)
{
    PlateLink link = linkTo(device.map(), device.plate());
    link.simulated = true;
    server.putInto(link);
    return link;
}

double lineClockS()
{
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

} // namespace stripwright
