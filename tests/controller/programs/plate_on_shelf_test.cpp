#include "programs/plate_on_shelf.h"

#include "learnt_plate.h"
#include "scratch_folder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

using namespace stripwright;
using nlohmann::json;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

namespace {

PlateLink learntLink(const std::string& name)
{
    PlateLink link;
    link.name = name;
    link.identified = learntPlate();
    return link;
}

class PlateOnShelf : public testing::Test {
protected:
    std::string put(const std::string& linkName)
    {
        const PlateLink link = learntLink(linkName);
        const TuneOptions options{.shelf = folder / "shelf", .size = "100x100x8"};
        const auto place = placeOnShelf(options, link);
        testing::internal::CaptureStderr();
        EXPECT_EQ(place ? putOnShelf(options, *place, link, said) : -1, 0);
        return testing::internal::GetCapturedStderr();
    }

    const ScratchFolder folder;
    json said;
};

TEST_F(PlateOnShelf, MeasuredAgainItReplacesItsOwnEntryWithoutAnyWarning)
{
    EXPECT_THAT(put("North bench"), HasSubstr("Put onto your shelf: north-bench-measured"));
    EXPECT_THAT(put("North bench"),
                AllOf(HasSubstr("Replaced on your shelf"), Not(HasSubstr("another plate"))));
    EXPECT_TRUE(said.at("shelf_warning").is_null());
    EXPECT_EQ(readPlatesOf(folder / "shelf").size(), 1u);
}

TEST_F(PlateOnShelf, NamesWithoutALatinLetterStandSideBySide)
{
    put("Северный стол");
    EXPECT_THAT(put("Южный стол"), HasSubstr("Put onto your shelf"));
    EXPECT_EQ(readPlatesOf(folder / "shelf").size(), 2u);
}

TEST_F(PlateOnShelf, EntryThatMayBeAnotherPlatesIsNotReplacedWithoutAWord)
{
    put("North bench");
    EXPECT_THAT(put("North: Bench"),
                AllOf(HasSubstr("Replaced on your shelf"), HasSubstr("was called \"North bench, measured\""),
                      HasSubstr("another plate than \"North: Bench\"")));
    EXPECT_THAT(said.at("shelf_warning").get<std::string>(), HasSubstr("another plate"));
}

} // namespace
