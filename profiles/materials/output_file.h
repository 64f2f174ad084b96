#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

namespace stripwright {

/// With the path, the reason and what to do.
struct CannotWrite : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// Puts a whole file in place: written and synced beside it, then renamed over it. Whatever fails, an old
/// file of that name stays as it was. Throws CannotWrite.
void writeWholeFile(const std::string& path, std::string_view content);

/// Throws CannotWrite if writeWholeFile() to this path would fail by rights or by a missing folder: to be
/// asked before long work. Leaves nothing behind.
void checkCanWrite(const std::string& path);

} // namespace stripwright
