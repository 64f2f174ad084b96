#include "link/plate_link.h"
#include "programs/programs.h"
#include "scratch_folder.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

using namespace stripwright;
using nlohmann::json;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

namespace {

json draft()
{
    return json::parse(R"({"format": "stripwright-plate-link", "version": 1, "name": "bench 2",
 "host": "192.0.2.7", "drive": "duty", "watchdog_s": 3, "plate_max_C": 280,
 "registers": {"sensor_C": {"table": "input", "address": 0},
  "duty": {"table": "holding", "address": 0, "type": "uint16", "scale": 0.001},
  "watchdog_s": {"table": "holding", "address": 2, "type": "uint16", "scale": 0.1}}})");
}

std::string checked(const json& link, int expectedCode)
{
    const ScratchFolder folder;
    std::ofstream(folder / "a.plate.json") << link;
    testing::internal::CaptureStdout();
    EXPECT_EQ(checkLinks({folder / "a.plate.json"}), expectedCode);
    return testing::internal::GetCapturedStdout();
}

TEST(CheckLink, DraftIsWholeAndWhatConnectFindsOutIsSaidToBeOpen)
{
    EXPECT_THAT(checked(draft(), 0), AllOf(HasSubstr("a.plate.json: ok, plate link of \"bench 2\""),
                                           HasSubstr("how the sensor's value is coded is left open")));
}

TEST(CheckLink, LinkWhoseSensorIsKnownLeavesNothingOpen)
{
    json link = draft();
    link["registers"]["sensor_C"]["type"] = "int16";
    link["registers"]["sensor_C"]["order"] = "ABCD";
    link["registers"]["sensor_C"]["scale"] = 0.1;
    EXPECT_THAT(checked(link, 0), AllOf(HasSubstr("ok"), Not(HasSubstr("left open"))));
}

TEST(CheckLink, DraftThatLacksMoreIsRefused)
{
    json link = draft();
    link["registers"]["duty"].erase("type");
    EXPECT_THAT(checked(link, 3), HasSubstr("/registers/duty/type"));
}

} // namespace
