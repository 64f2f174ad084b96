#pragma once

#include "link/plate_link.h"

namespace stripwright {

/// Registers or bits of one table of one device that are read in one request.
struct ReadBlock {
    RegisterTable table = RegisterTable::Input;
    int start = 0, count = 0;
    int unit = 1;
};

struct NamedField {
    std::string key; ///< In the link file: "registers/duty", "channels/0".
    RegisterField field;
};

/// What is read in every cycle, each with its unit.
std::vector<NamedField> namedCycleFields(const PlateLink& link);
std::vector<RegisterField> cycleFields(const PlateLink& link);

/// What is read in turn, one request a cycle, each with its unit.
std::vector<RegisterField> settingFields(const PlateLink& link);

/// What is written and read back in every cycle or when it is asked for, each with its unit.
std::vector<RegisterField> writtenFields(const PlateLink& link);

/// Fewest requests that read every field; a field that names no unit counts as of unit 1. `bridgeGaps`:
/// addresses between two fields, which the map does not name, are read along while the request stays within
/// 125 registers (2000 bits) and the gap within `longestGap` registers (16 bits each); otherwise only
/// touching fields share a request.
std::vector<ReadBlock> planReadBlocks(const std::vector<RegisterField>& fields, bool bridgeGaps,
                                      int longestGap = 125);

/// Reads of `unit`, of fields that are read anyway. First, if the map leaves room for one, a read whose
/// answer has a size that no block and no read-back of that unit has, so that it cannot be mistaken for one
/// of theirs: as devices answer in the order they were asked, its answer proves that no older one is still to
/// come. Then up to four in all, shortest first, each of another size.
std::vector<ReadBlock> planProbes(int unit, const std::vector<ReadBlock>& blocks,
                                  const std::vector<RegisterField>& fields,
                                  const std::vector<RegisterField>& written);

/// Whether answers to both reads have the same function and length.
bool answersLookAlike(RegisterTable a, int countA, RegisterTable b, int countB);

} // namespace stripwright
