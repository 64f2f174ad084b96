// Polls a second that our end of a Modbus line reaches: on a paced serial line against what its wire allows,
// and over TCP on this machine against a bare loop around libmodbus.

#include "link/modbus_line.h"
#include "served_plate.h"

#include <CLI/CLI.hpp>
#include <chrono>
#include <cstdio>
#include <modbus.h>

using namespace stripwright;

namespace {

constexpr int shortest = 2, middle = 10, longest = 40;
constexpr double reachedShare = 0.95;

using Clock = std::chrono::steady_clock;

struct Polls {
    long count = 0, failed = 0;
    double seconds = 0;
    std::string error;

    double perS() const { return static_cast<double>(count) / seconds; }
};

template <class Poll> void poll(Polls& polls, double forS, Poll once)
{
    const auto start = Clock::now();
    double tookS = 0;
    while (tookS < forS) {
        ++(once() ? polls.count : polls.failed);
        tookS = std::chrono::duration<double>(Clock::now() - start).count();
    }
    polls.seconds += tookS;
}

ReadBlock inputs(int count)
{
    return {.table = RegisterTable::Input, .start = 0, .count = count, .unit = 1};
}

// T = (13 + 2 N) c / b + max(t3.5, td) + t3.5, with td = t3.5.
double formulaPerS(const RtuTiming& timing, int registers)
{
    return 1 / ((13 + 2 * registers) * timing.characterS + 2 * timing.silenceS);
}

bool printSerial(double forS)
{
    std::printf("Serial line, a paced pseudo-terminal. Goal: %.0f %% of the formula.\n\n"
                "line          registers  formula/s   polls/s    share  failed\n",
                100 * reachedShare);
    bool reached = true;
    for (const int baud : {9600, 115200})
        for (const SerialFrame frame : {SerialFrame::F8N1, SerialFrame::F8E1})
            for (const int registers : {shortest, middle, longest}) {
                const RtuServer::Settings settings{baud, frame, 0};
                const ServedPlate served(settings);
                ModbusLine line(served.link(), 1);
                Polls polls;
                std::uint16_t words[longest];
                if (!line.open(2, 2) || !line.settle(2) || !line.read(inputs(registers), words)) {
                    std::fprintf(stderr, "%s\n", line.error().c_str());
                    return false;
                }
                poll(polls, forS, [&] { return line.read(inputs(registers), words); });
                const double formula = formulaPerS(rtuTiming(baud, frame, 0), registers);
                const double share = polls.perS() / formula;
                std::printf("%6d %s %12d %10.1f %9.1f %7.1f%% %7ld\n", baud,
                            frame == SerialFrame::F8N1 ? "8N1" : "8E1", registers, formula, polls.perS(),
                            100 * share, polls.failed);
                std::fflush(stdout);
                reached = reached && share >= reachedShare && polls.failed == 0;
            }
    std::printf("\n%s\n\n", reached ? "The goal is reached on every line." : "The goal is MISSED.");
    return true;
}

// Both in turns against one plate, so that what else the machine does hits both alike.
bool printTcp(double forS)
{
    const ServedPlate served;
    const PlateLink link = served.link();
    ModbusLine line(link, 1);
    modbus_t* bare = modbus_new_tcp(link.host.c_str(), link.port);
    modbus_set_slave(bare, 1);
    if (!line.open(2, 0.5) || modbus_connect(bare) != 0) {
        std::fprintf(stderr, "no connection to the simulated plate\n");
        modbus_free(bare);
        return false;
    }
    std::printf("TCP on this machine, in turns against the same plate.\n\n"
                "registers   bare libmodbus/s   ours/s    ratio  failed\n");
    constexpr int turns = 10;
    for (const int registers : {shortest, middle, longest}) {
        Polls ours, theirs;
        std::uint16_t words[longest];
        for (int turn = 0; turn < turns; ++turn) {
            poll(theirs, forS / 2 / turns,
                 [&] { return modbus_read_input_registers(bare, 0, registers, words) == registers; });
            poll(ours, forS / 2 / turns, [&] { return line.read(inputs(registers), words); });
        }
        std::printf("%9d %18.0f %8.0f %8.3f %7ld\n", registers, theirs.perS(), ours.perS(),
                    ours.perS() / theirs.perS(), ours.failed + theirs.failed);
    }
    modbus_close(bare);
    modbus_free(bare);
    return true;
}

} // namespace

int main(int argc, char** argv)
{
    double seconds = 3;
    CLI::App app("Polls a second of a Modbus line against what it allows.");
    app.add_option("--seconds", seconds, "of each line of the tables")
        ->check(CLI::Range(0.5, 60.0))
        ->capture_default_str();
    CLI11_PARSE(app, argc, argv);
    sched_param asTheControlThread{.sched_priority = 10};
    pthread_setschedparam(pthread_self(), SCHED_FIFO, &asTheControlThread);
    const bool serial = printSerial(seconds);
    return printTcp(seconds) && serial ? 0 : 1;
}
