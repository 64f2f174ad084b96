#include "materials/output_file.h"

#include "scratch_folder.h"

#include <csignal>
#include <fcntl.h>
#include <fstream>
#include <gtest/gtest.h>
#include <optional>
#include <sstream>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

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

const std::string plan = R"({"cards": [{"format": "x"}], "format": "stripwright-heat-plan"})";

std::string whyRefused(const std::string& path, OutputKind kind,
                       const std::vector<std::filesystem::path>& others = {})
{
    try {
        checkOutput(path, kind, others);
        return "";
    } catch (const CannotWrite& refusal) {
        return refusal.what();
    }
}

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

TEST(OutputFile, NeverTakesThePlaceOfWhatIsNoRegularFile)
{
    const ScratchFolder folder;
    const std::string pipe = folder / "pipe", socketFile = folder / "socket";
    ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);
    const int listening = socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un name{.sun_family = AF_UNIX};
    socketFile.copy(name.sun_path, sizeof name.sun_path - 1);
    ASSERT_EQ(bind(listening, reinterpret_cast<const sockaddr*>(&name), sizeof name), 0);
    std::filesystem::create_symlink(pipe, folder / "to-a-pipe"); // never a device of this machine's own
    for (const std::string& path :
         {pipe, socketFile, std::string(folder / "to-a-pipe"), std::string(folder / "")}) {
        const auto before = std::filesystem::status(path).type();
        EXPECT_THROW(writeWholeFile(path, "x"), CannotWrite) << path;
        EXPECT_NE(whyRefused(path, OutputKind::HeatPlan).find("name a regular file"), std::string::npos);
        EXPECT_EQ(std::filesystem::status(path).type(), before) << path;
    }
    close(listening);
}

TEST(OutputFile, IsNeverAnInputByWhateverName)
{
    const ScratchFolder folder;
    const std::string input = folder / "a.plan.json";
    writeWholeFile(input, plan); // Of the kind that is written: only its being an input speaks against it.
    EXPECT_EQ(whyRefused(input, OutputKind::HeatPlan), "");
    std::filesystem::create_symlink(input, folder / "link");
    std::filesystem::create_hard_link(input, folder / "hard");
    const int opened = open(input.c_str(), O_RDONLY);
    for (const std::string& name :
         {input, std::string(folder / "./a.plan.json"), std::string(folder / "link"),
          std::string(folder / "hard"), "/proc/self/fd/" + std::to_string(opened)})
        EXPECT_NE(whyRefused(name, OutputKind::HeatPlan, {"", input}).find("is the same file as " + input),
                  std::string::npos)
            << name;
    close(opened);
    const std::string later = folder / "runs.db-wal"; // Not there yet.
    EXPECT_NE(whyRefused(folder / "./runs.db-wal", OutputKind::RecordedCurves, {later}), "");
    EXPECT_EQ(whyRefused(folder / "other.csv", OutputKind::RecordedCurves, {later}), "");
}

TEST(OutputFile, ReplacesAnEarlierDocumentOfItsKindAndNoOther)
{
    const ScratchFolder folder;
    const struct {
        std::string content, holds;
        std::optional<OutputKind> kind;
    } documents[] = {
        {plan, "a heat plan", OutputKind::HeatPlan},
        {R"({"format": "stripwright-bench-sheet"})", "a bench sheet", OutputKind::BenchSheet},
        {R"({"format": "stripwright-plate-link"})", "a plate link", OutputKind::PlateLink},
        {R"({"format": "stripwright-review"})", "a review", OutputKind::Review},
        {"time_s,plate_C,joint_1_C\n", "a CSV of predicted curves", OutputKind::PredictedCurves},
        {"time_s,profile_s,plate_C,reference_C\n", "a CSV of a recorded run", OutputKind::RecordedCurves},
        {"\x89PNG\r\n\x1a\n...", "a picture", OutputKind::Picture},
        {std::string("SQLite format 3\0", 16), "a run log", OutputKind::RunLog},
        {"time_s,plate_C\n0,23\n", "something else", {}}, // somebody's measured curve
        {R"({"format": "stripwright-pastes"})", "something else", {}},
        {R"({"nested": {"format": "stripwright-heat-plan"}})", "something else", {}},
        {R"(["format", "stripwright-heat-plan"])", "something else", {}},
        {plan.substr(0, plan.size() - 1), "something else", {}},
        {"Dear all,\n", "something else", {}},
    };
    using enum OutputKind;
    for (const auto& document : documents) {
        writeWholeFile(folder / "x", document.content);
        for (const OutputKind kind :
             {BenchSheet, HeatPlan, PlateLink, Review, PredictedCurves, RecordedCurves, Picture, RunLog}) {
            const std::string why = whyRefused(folder / "x", kind);
            if (kind == document.kind)
                EXPECT_EQ(why, "") << document.content;
            else
                EXPECT_NE(why.find("holds " + document.holds), std::string::npos) << document.content << why;
        }
    }
    writeWholeFile(folder / "x", "");
    EXPECT_EQ(whyRefused(folder / "x", Picture), "");
    EXPECT_EQ(filesIn(folder / ""), 1u);
}
