#include "bench/register_device.h"
#include "bench/rtu_frame.h"
#include "fuzzed.h"
#include "materials/bench_sheet.h"
#include "materials/json_fields.h"
#include "materials/shelf.h"

using namespace stripwright;

// What a master may send to the simulated plate, in each of its maps: the first byte says which, the second the unit.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, size_t size)
{
    struct Device {
        PlateMap map;
        SimulatedPlate plate;
        RegisterDevice device;
        explicit Device(const std::string& name)
            : map(*plateMap(name, DriveKind::Duty)), plate(sheet(), fitted(map)), device(plate, map)
        {
        }
        static BenchSheet sheet()
        {
            const std::filesystem::path folders[] = {SHELF_DIR};
            const std::string file = SHELF_DIR "/marram-lane-bar-7.bench.json";
            return readBenchSheet(readTextFile(file), file, readShelf(folders));
        }
        static SimulatedPlateOptions fitted(const PlateMap& map)
        {
            SimulatedPlateOptions options;
            options.bare = true;
            fitTo(options, map);
            return options;
        }
    };
    static std::vector<std::unique_ptr<Device>> devices;
    if (devices.empty())
        for (const std::string& name : plateMapNames())
            devices.push_back(std::make_unique<Device>(name));
    if (size < 3)
        return 0;
    const std::span<const std::uint8_t> bytes(data, size);
    isRtuFrame(bytes);
    Device& one = *devices[data[0] % devices.size()];
    const auto answer = one.device.answer(data[1], bytes.subspan(2));
    if (answer && (answer->pdu.empty() || answer->pdu.size() > 253))
        std::abort();
    one.device.obeyBroadcast(bytes.subspan(2));
    return 0;
}
