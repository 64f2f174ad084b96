#include "models/last_answers.h"

#include <gtest/gtest.h>

namespace stripwright {

TEST(LastAnswers, AreFoundOnceForASheetAndAnewForAnother)
{
    int searches = 0;
    LastAnswers kept([&](const BenchSheet& sheet) {
        ++searches;
        return std::vector<HeatAnswer>{{sheet, {}}};
    });
    BenchSheet sheet;
    sheet.title = "first";
    kept.of(sheet);
    EXPECT_EQ(kept.of(sheet).front().sheet.title, "first");
    EXPECT_EQ(searches, 1);
    sheet.title = "second";
    EXPECT_EQ(kept.of(sheet).front().sheet.title, "second");
    EXPECT_EQ(searches, 2);
}

} // namespace stripwright
