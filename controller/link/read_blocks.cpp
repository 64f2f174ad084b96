#include "link/read_blocks.h"

#include "link/register_codec.h"

#include <algorithm>

namespace stripwright {

std::vector<ReadBlock> planReadBlocks(const std::vector<RegisterField>& fields, bool bridgeGaps)
{
    std::vector<RegisterField> sorted = fields;
    std::sort(sorted.begin(), sorted.end(), [](const RegisterField& a, const RegisterField& b) {
        return a.table != b.table ? a.table < b.table : a.address < b.address;
    });
    std::vector<ReadBlock> blocks;
    for (const RegisterField& field : sorted) {
        const int end = field.address + wordsOf(field);
        const bool bits = field.table == RegisterTable::Coil || field.table == RegisterTable::Discrete;
        const int longest = bits ? 2000 : 125;
        if (!blocks.empty()) {
            ReadBlock& last = blocks.back();
            const bool near = bridgeGaps || field.address <= last.start + last.count;
            if (last.table == field.table && near && end - last.start <= longest) {
                last.count = std::max(last.count, end - last.start);
                continue;
            }
        }
        blocks.push_back({field.table, field.address, wordsOf(field)});
    }
    return blocks;
}

} // namespace stripwright
