#include "commands/heat_files.h"

#include "child_program.h"
#include "demo_sheet.h"
#include "materials/output_file.h"
#include "planner/plan_sheet.h"
#include "scratch_folder.h"

#include <gmock/gmock.h>

using namespace stripwright;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

namespace {

JobPlan jobOf(size_t heats, const std::string& title = "Marram Lane Glasshouse, bar 7")
{
    static const HeatPlan one = planSheet(test::shippedSheet("marram-lane-bar-7.bench.json")); // runnable
    JobPlan job{one.sheet, {}};
    job.sheet.title = title;
    for (size_t heat = 1; heat <= heats; ++heat) {
        HeatPlan plan = one;
        plan.sheet.title = title;
        plan.heat = static_cast<int>(heat);
        plan.ofHeats = static_cast<int>(heats);
        job.heats.push_back(plan);
    }
    return job;
}

class HeatFiles : public testing::Test {
protected:
    std::string file(const std::string& name) const { return folder_ / name; }
    std::vector<std::string> names() const
    {
        std::vector<std::string> all;
        for (const auto& entry : std::filesystem::directory_iterator(folder_ / ""))
            all.push_back(entry.path().filename());
        std::ranges::sort(all);
        return all;
    }
    std::vector<std::string> write(const JobPlan& job) const
    {
        return writeHeats(file("bar.plan.json"), job);
    }

    const ScratchFolder folder_;
};

} // namespace

TEST_F(HeatFiles, OfAnEarlierAnswerWithMoreHeatsAreRemovedAndSaid)
{
    EXPECT_THAT(write(jobOf(3)), IsEmpty());
    EXPECT_THAT(names(), ElementsAre("bar.heat-1.plan.json", "bar.heat-2.plan.json", "bar.heat-3.plan.json"));
    EXPECT_THAT(write(jobOf(2)), ElementsAre(file("bar.heat-3.plan.json") +
                                             ": removed, it was of an earlier answer for this strip, which "
                                             "now takes 2 heats"));
    EXPECT_THAT(names(), ElementsAre("bar.heat-1.plan.json", "bar.heat-2.plan.json"));
    EXPECT_EQ(write(jobOf(1)).size(), 2u);
    EXPECT_THAT(names(), ElementsAre("bar.plan.json"));
    EXPECT_THAT(write(jobOf(2)), ElementsAre(HasSubstr("bar.plan.json: removed")));
    EXPECT_THAT(names(), ElementsAre("bar.heat-1.plan.json", "bar.heat-2.plan.json"));
}

TEST_F(HeatFiles, OfAnEarlierAnswerStayWhereTheNewOneCannotBeRun)
{
    write(jobOf(2));
    JobPlan none = jobOf(1);
    none.heats[0].runnable = false;
    EXPECT_THAT(write(none), ElementsAre(HasSubstr("left as it is"), HasSubstr("bar.heat-2.plan.json")));
    EXPECT_THAT(names(), ElementsAre("bar.heat-1.plan.json", "bar.heat-2.plan.json", "bar.plan.json"));
}

TEST_F(HeatFiles, OfAnotherStripOrNoPlanOrAnotherNameAreLeftAndNamed)
{
    writeHeats(file("bar.plan.json"), jobOf(2, "Marram Lane Glasshouse, bar 8"));
    std::ofstream(file("bar.heat-9.plan.json")) << "notes";
    for (const char* other : {"bar.heat-x.plan.json", "bar.heat-.plan.json", "bar.heat-1.plan.json.kept",
                              "bart.heat-1.plan.json"})
        std::ofstream(file(other)) << toJson(jobOf(1).heats[0]).dump();
    const auto before = names();
    EXPECT_THAT(write(jobOf(1)), ElementsAre(HasSubstr("bar.heat-1.plan.json: is named like a heat of this "
                                                       "job and holds the plan of another strip (Marram "
                                                       "Lane Glasshouse, bar 8); left as it is"),
                                             HasSubstr("bar.heat-2.plan.json"),
                                             HasSubstr("bar.heat-9.plan.json: is named like a heat of this "
                                                       "job and holds no heat plan")));
    EXPECT_EQ(names().size(), before.size() + 1);
    EXPECT_EQ(textOf(file("bar.heat-9.plan.json")), "notes");
}

TEST_F(HeatFiles, AreAllAsTheyWereWhereOneCannotBeWritten)
{
    write(jobOf(3));
    const std::string first = textOf(file("bar.heat-1.plan.json"));
    std::filesystem::remove(file("bar.heat-2.plan.json"));
    std::filesystem::create_directory(file("bar.heat-2.plan.json"));
    EXPECT_THROW(write(jobOf(2)), CannotWrite);
    EXPECT_EQ(textOf(file("bar.heat-1.plan.json")), first);
    EXPECT_TRUE(std::filesystem::exists(file("bar.heat-3.plan.json")));

    std::filesystem::remove(file("bar.heat-1.plan.json"));
    EXPECT_THROW(write(jobOf(2)), CannotWrite);
    EXPECT_FALSE(std::filesystem::exists(file("bar.heat-1.plan.json"))) << "there was none";
}

TEST_F(HeatFiles, GoNowhereIfNoFileWasNamed)
{
    EXPECT_THAT(writeHeats("", jobOf(2)), IsEmpty());
    EXPECT_THAT(planFiles("", 2), IsEmpty());
    EXPECT_THAT(planFiles("a/bar.plan.json", 1), ElementsAre("a/bar.plan.json"));
    EXPECT_THAT(planFiles("a/bar", 2), ElementsAre("a/bar.heat-1", "a/bar.heat-2"));
}
