#include "link/read_blocks.h"

#include "link/register_codec.h"

#include <algorithm>
#include <tuple>

namespace stripwright {

static bool holdsBits(RegisterTable table)
{
    return table == RegisterTable::Coil || table == RegisterTable::Discrete;
}

static RegisterField withUnit(RegisterField field, const PlateLink& link)
{
    field.unit = field.unit.value_or(link.unit);
    return field;
}

std::vector<NamedField> namedCycleFields(const PlateLink& link)
{
    std::vector<NamedField> fields = {{"registers/sensor_C", withUnit(link.sensor, link)}};
    const auto add = [&](const char* key, const std::optional<RegisterField>& field) {
        if (field)
            fields.push_back({std::string("registers/") + key, withUnit(*field, link)});
    };
    add("duty", link.duty);
    add("setpoint_C", link.setpoint);
    add("status", link.status);
    add("counter", link.counter);
    add("enable", link.enable);
    add("strip_sensor_C", link.stripSensor);
    for (size_t i = 0; i < link.channels.size(); ++i)
        fields.push_back({"channels/" + std::to_string(i), withUnit(link.channels[i].field, link)});
    return fields;
}

std::vector<RegisterField> cycleFields(const PlateLink& link)
{
    std::vector<RegisterField> fields;
    for (const NamedField& named : namedCycleFields(link))
        fields.push_back(named.field);
    return fields;
}

std::vector<RegisterField> settingFields(const PlateLink& link)
{
    std::vector<RegisterField> fields;
    for (const PlateSetting& setting : link.settings)
        fields.push_back(withUnit(setting.field, link));
    return fields;
}

std::vector<RegisterField> writtenFields(const PlateLink& link)
{
    std::vector<RegisterField> fields;
    for (const auto* field :
         {&link.duty, &link.setpoint, &link.watchdogS, &link.fan, &link.stripLifted, &link.enable})
        if (*field)
            fields.push_back(withUnit(**field, link));
    return fields;
}

std::vector<ReadBlock> planReadBlocks(const std::vector<RegisterField>& fields, bool bridgeGaps,
                                      int longestGap)
{
    const auto place = [](const RegisterField& field) {
        return std::tuple(field.unit.value_or(1), field.table, field.address);
    };
    std::vector<RegisterField> sorted = fields;
    std::sort(sorted.begin(), sorted.end(),
              [&](const RegisterField& a, const RegisterField& b) { return place(a) < place(b); });
    std::vector<ReadBlock> blocks;
    for (const RegisterField& field : sorted) {
        const int end = field.address + wordsOf(field), unit = field.unit.value_or(1);
        const bool bits = holdsBits(field.table);
        const int longest = bits ? 2000 : 125, gap = bridgeGaps ? longestGap * (bits ? 16 : 1) : 0;
        if (!blocks.empty()) {
            ReadBlock& last = blocks.back();
            const bool near = field.address <= last.start + last.count + gap;
            if (last.unit == unit && last.table == field.table && near && end - last.start <= longest) {
                last.count = std::max(last.count, end - last.start);
                continue;
            }
        }
        blocks.push_back({field.table, field.address, wordsOf(field), unit});
    }
    return blocks;
}

bool answersLookAlike(RegisterTable a, int countA, RegisterTable b, int countB)
{
    const auto bytes = [](RegisterTable table, int count) {
        return holdsBits(table) ? (count + 7) / 8 : 2 * count;
    };
    return a == b && bytes(a, countA) == bytes(b, countB);
}

static constexpr size_t mostProbes = 4;

std::vector<ReadBlock> planProbes(int unit, const std::vector<ReadBlock>& blocks,
                                  const std::vector<RegisterField>& fields,
                                  const std::vector<RegisterField>& written)
{
    std::vector<ReadBlock> candidates; // beginnings of blocks that end where a field does
    for (const ReadBlock& block : blocks)
        for (const RegisterField& field : fields)
            if (block.unit == unit && field.unit.value_or(1) == unit && field.table == block.table &&
                field.address >= block.start && field.address + wordsOf(field) <= block.start + block.count)
                candidates.push_back(
                    {block.table, block.start, field.address + wordsOf(field) - block.start, unit});
    for (const RegisterField& field : written)
        if (field.unit.value_or(1) == unit)
            candidates.push_back({field.table, field.address, wordsOf(field), unit});
    std::stable_sort(candidates.begin(), candidates.end(),
                     [](const ReadBlock& a, const ReadBlock& b) { return a.count < b.count; });
    const auto isUnique = [&](const ReadBlock& candidate) {
        const auto like = [&](RegisterTable table, int count) {
            return answersLookAlike(table, count, candidate.table, candidate.count);
        };
        const bool likeBlock = std::any_of(blocks.begin(), blocks.end(), [&](const ReadBlock& block) {
            return block.unit == unit && like(block.table, block.count);
        });
        return !likeBlock && std::none_of(written.begin(), written.end(), [&](const RegisterField& field) {
            return field.unit.value_or(1) == unit && like(field.table, wordsOf(field));
        });
    };
    std::vector<ReadBlock> probes;
    if (const auto unique = std::find_if(candidates.begin(), candidates.end(), isUnique);
        unique != candidates.end())
        probes.push_back(*unique);
    for (const ReadBlock& candidate : candidates) {
        const bool known = std::any_of(probes.begin(), probes.end(), [&](const ReadBlock& probe) {
            return answersLookAlike(probe.table, probe.count, candidate.table, candidate.count);
        });
        if (!known && probes.size() < mostProbes)
            probes.push_back(candidate);
    }
    return probes;
}

} // namespace stripwright
