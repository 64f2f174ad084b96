#pragma once

namespace stripwright::test {

/// While on, whoever opens, reads or flushes a regular file of this process waits until it is off again.
void stallDisk(bool on);

} // namespace stripwright::test
