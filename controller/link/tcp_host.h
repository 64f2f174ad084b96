#pragma once

#include <string>
#include <vector>

namespace stripwright {

/// Numeric addresses of a host. Throws LinkError if there are none within `timeoutS`.
std::vector<std::string> addressesOf(const std::string& host, int port, double timeoutS);

} // namespace stripwright
