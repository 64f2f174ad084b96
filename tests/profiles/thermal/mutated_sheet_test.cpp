#include "demo_sheet.h"

#include "thermal/strip_model.h"

#include <cmath>
#include <gtest/gtest.h>
#include <random>

namespace stripwright {
namespace {

using nlohmann::json;
using test::shippedSheet;
using test::shippedShelf;

class Mutation : public testing::Test {
protected:
    int upTo(int last) { return std::uniform_int_distribution(0, last)(random_); }

    /// A sheet either reads, and then makes a model that can be solved, or is refused with reasons.
    void tryOut(const std::string& text)
    {
        static const Shelf shelf = shippedShelf();
        ++tried_;
        BenchSheet sheet;
        try {
            sheet = readBenchSheet(text, "mutated", shelf);
        } catch (const BadInput& bad) {
            EXPECT_FALSE(bad.problems().empty());
            return;
        }
        ++read_;
        for (const bool plateIsNode : {false, true}) {
            StripModelOptions options;
            options.plateIsNode = plateIsNode;
            options.contact = plateIsNode ? ContactLevel::Low : ContactLevel::High;
            options.fan = sheet.cooling.fan;
            const StripModel model = buildStripModel(sheet, options);
            for (const double capacity : model.network.capacityJPerK)
                ASSERT_TRUE(std::isfinite(capacity) && capacity > 0) << text;
            for (const auto& link : model.network.links)
                ASSERT_TRUE(std::isfinite(link.wPerK) && link.wPerK >= 0) << text;
            for (const auto& link : model.network.plateLinks)
                ASSERT_TRUE(std::isfinite(link.wPerK) && link.wPerK >= 0) << text;
            for (const auto& film : model.network.films)
                ASSERT_TRUE(std::isfinite(film.wPerK) && film.wPerK >= 0) << text;
            for (const Station& station : model.stations) {
                double weight = 0;
                for (const auto& share : station.shares)
                    weight += share.weight;
                ASSERT_NEAR(weight, 1, 1e-6) << station.name << " of " << text;
            }
        }
    }

    std::mt19937 random_{7};
    int tried_ = 0, read_ = 0;
};

/// Every value below, the document itself left out.
void collect(json& value, std::vector<json*>& all)
{
    if (!value.is_structured())
        return;
    for (json& part : value) {
        all.push_back(&part);
        collect(part, all);
    }
}

TEST_F(Mutation, OfBytesIsReadOrRefused)
{
    const std::string text = readTextFile(SHELF_DIR "/marram-lane-bar-7.bench.json");
    for (int trial = 0; trial < 4000; ++trial) {
        std::string mutated = text;
        for (int change = upTo(3); change >= 0; --change) {
            const auto place = static_cast<size_t>(upTo(static_cast<int>(mutated.size()) - 1));
            switch (upTo(3)) {
            case 0:
                mutated[place] = static_cast<char>(upTo(255));
                break;
            case 1:
                mutated.erase(place, static_cast<size_t>(1 + upTo(20)));
                break;
            case 2:
                mutated.insert(place, mutated.substr(static_cast<size_t>(upTo(100)), 20));
                break;
            default:
                mutated[place] = static_cast<char>('0' + upTo(9));
            }
        }
        tryOut(mutated);
    }
    EXPECT_GT(read_, 50);
    EXPECT_LT(read_, tried_ - 1000);
}

TEST_F(Mutation, OfValuesIsReadOrRefused)
{
    const json whole = toJson(shippedSheet("marram-lane-bar-7.bench.json")); // Every entry inline.
    const json hostile = json::parse(R"([0, -1, 1, 1e308, -1e308, 1e-308, 400, 5000, 10000, 2147483648, -0.0,
        "", "NaN", "unknown", null, true, false, [], {}, [[[]]], {"id": "x"}, [1, 2, 3]])");
    for (int trial = 0; trial < 4000; ++trial) {
        json mutated = whole;
        for (int change = upTo(2); change >= 0; --change) {
            std::vector<json*> values;
            collect(mutated, values);
            json& value = *values[static_cast<size_t>(upTo(static_cast<int>(values.size()) - 1))];
            // Numbers are moved by up to a decade either way, so that most stay in their own range and only
            // what they make together can be wrong.
            if (value.is_number() && upTo(4) > 0)
                value = value.get<double>() * std::pow(10.0, (upTo(200) - 100) / 100.0);
            else if (value.is_structured() && !value.empty() && upTo(1))
                value.erase(value.begin());
            else
                value = hostile[static_cast<size_t>(upTo(static_cast<int>(hostile.size()) - 1))];
        }
        tryOut(mutated.dump());
    }
    EXPECT_GT(read_, 500);
    EXPECT_LT(read_, tried_ - 1000);
}

} // namespace
} // namespace stripwright
