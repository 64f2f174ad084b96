#include "messages/patient_output.h"

#include <chrono>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <string>
#include <thread>
#include <unistd.h>

namespace stripwright {

using Clock = std::chrono::steady_clock;

/// A pipe whose writing end is a descriptor of its own number.
struct Pipe {
    int ends[2];
    Pipe() { EXPECT_EQ(pipe(ends), 0); }
    ~Pipe()
    {
        for (int end : ends)
            if (end >= 0)
                close(end);
    }
    std::string all()
    {
        fcntl(ends[0], F_SETFL, O_NONBLOCK);
        std::string text(1 << 20, ' ');
        size_t count = 0;
        for (ssize_t got; (got = read(ends[0], text.data() + count, text.size() - count)) > 0;)
            count += static_cast<size_t>(got);
        return text.substr(0, count);
    }
};

static void say(int descriptor, const std::string& text)
{
    EXPECT_EQ(write(descriptor, text.data(), text.size()), static_cast<ssize_t>(text.size()));
}

TEST(PatientOutput, HandsOnWhatIsWrittenInItsOrder)
{
    Pipe pipe;
    {
        PatientOutput output(pipe.ends[1]);
        for (int i = 0; i < 100; ++i)
            say(pipe.ends[1], std::to_string(i) + "\n");
    }
    std::string expected;
    for (int i = 0; i < 100; ++i)
        expected += std::to_string(i) + "\n";
    EXPECT_EQ(pipe.all(), expected);
    say(pipe.ends[1], "after"); // the descriptor is the reader's own again
    EXPECT_EQ(pipe.all(), "after");
}

TEST(PatientOutput, AReaderThatStandsStillHoldsNothingUp)
{
    Pipe pipe;
    const auto begun = Clock::now();
    {
        PatientOutput output(pipe.ends[1]);
        const std::string line(1023, 'x');
        for (int i = 0; i < 6000; ++i)
            say(pipe.ends[1], line + "\n");
    }
    EXPECT_LT(Clock::now() - begun, std::chrono::seconds(5));
    EXPECT_FALSE(pipe.all().empty());
}

TEST(PatientOutput, EndGivesASlowReaderTheTimeItIsTold)
{
    Pipe pipe;
    PatientOutput output(pipe.ends[1]);
    const std::string text(200'000, 'x'); // more than a pipe holds
    say(pipe.ends[1], text);
    EXPECT_FALSE(output.end(std::chrono::milliseconds(10)));
    std::string taken;
    std::thread reader([&] {
        usleep(1'000'000);
        std::string bytes(text.size(), ' ');
        while (taken.size() < text.size()) {
            const ssize_t count = read(pipe.ends[0], bytes.data(), bytes.size());
            if (count <= 0)
                break;
            taken.append(bytes, 0, static_cast<size_t>(count));
        }
    });
    EXPECT_TRUE(output.end(std::chrono::seconds(60)));
    reader.join();
    EXPECT_EQ(taken, text);
}

TEST(PatientOutput, AReaderThatIsGoneIsForgotten)
{
    Pipe pipe;
    close(pipe.ends[0]);
    pipe.ends[0] = -1;
    PatientOutput output(pipe.ends[1]);
    for (int i = 0; i < 1000; ++i)
        say(pipe.ends[1], "nobody hears this\n");
    for (int n = 0; n < 100 && !output.readerGone(); ++n)
        usleep(10'000);
    EXPECT_TRUE(output.readerGone());
}

} // namespace stripwright
