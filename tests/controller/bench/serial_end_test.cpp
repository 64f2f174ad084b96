#include "bench/serial_end.h"
#include "rtu_client.h"
#include "scratch_folder.h"

#include <fstream>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/wait.h>

using namespace stripwright;
namespace fs = std::filesystem;

namespace {

std::string refusalOf(const std::string& path)
{
    try {
        SerialEnd end(path, 9600, SerialFrame::F8N1);
    } catch (const std::runtime_error& error) {
        return error.what();
    }
    return "";
}

TEST(SerialEnd, PathThatLeadsNowhereBecomesALinkToATerminalAndGoesAgain)
{
    ScratchFolder scratch;
    const fs::path path = scratch / "plate";
    {
        SerialEnd end(path, 9600, SerialFrame::F8N1);
        EXPECT_TRUE(end.isPseudo());
        EXPECT_EQ(end.path(), path);
        // Raw without a client's doing: nothing is echoed, no line is waited for, no character means
        // anything.
        const int client = ::open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK);
        EXPECT_EQ(::write(client, "\n\x03", 2), 2);
        Bytes got(3);
        EXPECT_EQ(::read(end.fd(), got.data(), 3), 2);
        EXPECT_EQ(got, (Bytes{'\n', 3, 0}));
        EXPECT_EQ(::write(end.fd(), "\r\x03", 2), 2);
        EXPECT_EQ(::read(client, got.data(), 3), 2);
        EXPECT_EQ(got, (Bytes{'\r', 3, 0}));
        ::close(client);
    }
    EXPECT_FALSE(fs::is_symlink(path));
}

TEST(SerialEnd, LivePlateKeepsItsPath)
{
    ScratchFolder scratch;
    const fs::path path = scratch / "plate";
    SerialEnd end(path, 9600, SerialFrame::F8N1);
    EXPECT_THAT(refusalOf(path), testing::HasSubstr("another simulated plate"));
    EXPECT_TRUE(fs::is_symlink(path));
}

TEST(SerialEnd, LinkOfADeadPlateIsReplaced)
{
    ScratchFolder scratch;
    const fs::path path = scratch / "plate";
    const pid_t child = fork();
    if (child == 0) {
        SerialEnd dying(path, 9600, SerialFrame::F8N1);
        ::_exit(0); // as a kill: nothing is cleared up
    }
    ::waitpid(child, nullptr, 0);
    ASSERT_TRUE(fs::is_symlink(path));
    {
        SerialEnd end(path, 9600, SerialFrame::F8N1);
    }

    // The number of the dead one's terminal may be somebody else's by now.
    SerialEnd other(scratch / "other", 9600, SerialFrame::F8N1);
    const int somebody = posix_openpt(O_RDWR | O_NOCTTY);
    grantpt(somebody);
    unlockpt(somebody);
    fs::create_symlink("/dev/pts/./" + fs::path(ptsname(somebody)).filename().string(), path);
    SerialEnd end(path, 9600, SerialFrame::F8N1);
    EXPECT_TRUE(end.isPseudo());
    EXPECT_NE(fs::canonical(path), fs::path(ptsname(somebody)));
    ::close(somebody);
}

TEST(SerialEnd, TerminalThatIsThereIsOpenedAsItIsEvenByALink)
{
    ScratchFolder scratch;
    const int far = posix_openpt(O_RDWR | O_NOCTTY);
    grantpt(far);
    unlockpt(far);
    fs::create_symlink(ptsname(far), scratch / "cable");
    {
        SerialEnd end(scratch / "cable", 9600, SerialFrame::F8N1);
        EXPECT_FALSE(end.isPseudo());
        EXPECT_EQ(::write(end.fd(), "abc", 3), 3);
        char got[3] = {};
        EXPECT_EQ(::read(far, got, 3), 3);
        EXPECT_EQ(std::string(got, 3), "abc");
    }
    EXPECT_TRUE(fs::is_symlink(scratch / "cable"));
    ::close(far);
}

TEST(SerialEnd, RefusalsSayWhatIsThereAndWhatToDo)
{
    ScratchFolder scratch;
    std::ofstream(scratch / "notes") << "notes";
    EXPECT_THAT(refusalOf(scratch / "notes"), testing::HasSubstr("is no serial port; name a serial port"));
    EXPECT_TRUE(fs::exists(scratch / "notes"));
    EXPECT_THAT(refusalOf(scratch / "no-folder" / "plate"), testing::HasSubstr("check the folder"));
    fs::create_symlink("/dev/ttyUSB77", scratch / "adapter");
    EXPECT_THAT(refusalOf(scratch / "adapter"), testing::HasSubstr("/dev/ttyUSB77"));
    EXPECT_TRUE(fs::is_symlink(scratch / "adapter"));
}

} // namespace
