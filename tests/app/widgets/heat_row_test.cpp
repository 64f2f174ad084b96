#include "widgets/heat_row.h"

#include "demo_sheet.h"

#include <QCoreApplication>
#include <QPushButton>
#include <gtest/gtest.h>

namespace stripwright {

// A strip with many dead LEDs on a short plate has a heat for each of them.
TEST(HeatRow, OfManyHeatsWidensNothingAndShowsTheChosenOne)
{
    auto job = std::make_shared<JobPlan>();
    job->sheet = test::shippedSheet("marram-lane-bar-7.bench.json");
    for (int heat = 1; heat <= 12; ++heat) {
        HeatPlan plan;
        plan.sheet = job->sheet;
        plan.heat = heat;
        plan.ofHeats = 12;
        job->heats.push_back(plan);
    }
    HeatRow row(HeatRow::Head::None);
    row.resize(600, 60);
    row.showHeats(job, 11, {});
    row.show();
    QCoreApplication::processEvents();
    row.showHeats(job, 11, {});
    EXPECT_LT(row.minimumSizeHint().width(), 300);
    auto* last = row.findChild<QPushButton*>("heat12");
    ASSERT_TRUE(last);
    const QPoint middle = last->mapTo(&row, last->rect().center());
    EXPECT_TRUE(row.rect().contains(middle)) << middle.x();
    row.showHeats(job, 0, {});
    auto* first = row.findChild<QPushButton*>("heat1");
    EXPECT_TRUE(row.rect().contains(first->mapTo(&row, first->rect().center())));
}

} // namespace stripwright
