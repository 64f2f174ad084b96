#include "materials/output_file.h"

#include "scratch_folder.h"

#include <csignal>
#include <fstream>
#include <gtest/gtest.h>
#include <sstream>
#include <sys/resource.h>
#include <sys/stat.h>

using namespace stripwright;

namespace {

std::string contentOf(const std::filesystem::path& file)
{
    std::ostringstream all;
    all << std::ifstream(file, std::ios::binary).rdbuf();
    return all.str();
}

size_t filesIn(const std::filesystem::path& folder)
{
    const std::filesystem::directory_iterator all(folder);
    return static_cast<size_t>(std::distance(begin(all), end(all)));
}

// No file may grow beyond so many bytes, as on a disk that is full; the write fails instead of the process.
class FullDisk {
public:
    explicit FullDisk(rlim_t bytes)
    {
        std::signal(SIGXFSZ, SIG_IGN);
        getrlimit(RLIMIT_FSIZE, &before_);
        const rlimit small{bytes, before_.rlim_max};
        setrlimit(RLIMIT_FSIZE, &small);
    }
    ~FullDisk() { setrlimit(RLIMIT_FSIZE, &before_); }

private:
    rlimit before_{};
};

} // namespace

TEST(OutputFile, PutsTheWholeContentInPlaceOfAnOldFile)
{
    const ScratchFolder folder;
    writeWholeFile(folder / "plan.json", "old and longer");
    writeWholeFile(folder / "plan.json", "new");
    EXPECT_EQ(contentOf(folder / "plan.json"), "new");
    EXPECT_EQ(filesIn(folder / ""), 1u);
}

TEST(OutputFile, KeepsTheOldFileAndLeavesNothingBesideItWhenTheDiskIsFull)
{
    const ScratchFolder folder;
    writeWholeFile(folder / "plan.json", "old");
    {
        const FullDisk full(1000);
        EXPECT_THROW(writeWholeFile(folder / "plan.json", std::string(100'000, 'x')), CannotWrite);
    }
    EXPECT_EQ(contentOf(folder / "plan.json"), "old");
    EXPECT_EQ(filesIn(folder / ""), 1u);
}

TEST(OutputFile, SaysWhichPathCannotBeWrittenAndWhy)
{
    const ScratchFolder folder;
    const std::string inNoFolder = folder / "missing/plan.json";
    try {
        writeWholeFile(inNoFolder, "x");
        FAIL() << "expected CannotWrite";
    } catch (const CannotWrite& failure) {
        EXPECT_NE(std::string(failure.what()).find(inNoFolder), std::string::npos);
        EXPECT_NE(std::string(failure.what()).find("No such file or directory"), std::string::npos);
    }
    EXPECT_THROW(writeWholeFile(folder / "", "x"), CannotWrite); // a folder
}

TEST(OutputFile, CanBeAskedBeforehandWithoutATrace)
{
    const ScratchFolder folder;
    checkCanWrite(folder / "plan.json");
    EXPECT_EQ(filesIn(folder / ""), 0u);
    EXPECT_THROW(checkCanWrite(folder / "missing/plan.json"), CannotWrite);
}

TEST(OutputFile, WritesThroughALinkAndKeepsTheRightsOfTheOldFile)
{
    const ScratchFolder folder;
    writeWholeFile(folder / "real.json", "old");
    std::filesystem::permissions(folder / "real.json", std::filesystem::perms(0640));
    std::filesystem::create_symlink("real.json", folder / "link.json");
    writeWholeFile(folder / "link.json", "new");
    EXPECT_TRUE(std::filesystem::is_symlink(folder / "link.json"));
    EXPECT_EQ(contentOf(folder / "real.json"), "new");
    EXPECT_EQ(std::filesystem::status(folder / "real.json").permissions(), std::filesystem::perms(0640));
}
