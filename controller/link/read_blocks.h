#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// Registers or bits of one table that are read in one request.
struct ReadBlock {
    RegisterTable table = RegisterTable::Input;
    int start = 0, count = 0;
};

/// Fewest requests that read every field. `bridgeGaps`: addresses between two fields, which the map does not
/// name, are read along while the request stays within 125 registers (2000 bits); otherwise only touching
/// fields share a request.
std::vector<ReadBlock> planReadBlocks(const std::vector<RegisterField>& fields, bool bridgeGaps);

} // namespace stripwright
