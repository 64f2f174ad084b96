#include "link/plate_link.h"
#include "messages/usage_words.h"
#include "programs/programs.h"

#include <CLI/CLI.hpp>
#include <fcntl.h>
#include <unistd.h>

using namespace stripwright;

namespace {

CLI::Validator between(double low, double high)
{
    const std::string range = CLI::detail::to_string(low) + " to " + CLI::detail::to_string(high);
    return CLI::Validator( // CLI::Range lets "nan" through
        [=](const std::string& text) {
            double value = 0;
            const bool fits = CLI::detail::lexical_cast(text, value) && value >= low && value <= high;
            return fits ? std::string() : "found " + text + ", expected a number from " + range;
        },
        range);
}

} // namespace

// A line to a plate or its lock must not become standard output.
static void openMissingStandardStreams()
{
    int fd;
    while ((fd = open("/dev/null", O_RDWR)) >= 0 && fd <= STDERR_FILENO)
        ;
    close(fd);
}

int main(int argc, char** argv)
{
    openMissingStandardStreams();
    CLI::App app("Drives one plate along heat plans, records every run, and turns the heater off when "
                 "anything is wrong.",
                 "stripwright-controller");
    app.require_subcommand(0, 1);
    DriveOptions drive;
    const CLI::Option* needed[] = {
        app.add_option("--plate", drive.plate, "plate link file (.plate.json)"),
        app.add_option("--runs", drive.runs, "run log, made if it is not there"),
        app.add_option("--socket", drive.socket, "local socket that windows and terminals talk to"),
    };
    app.add_option("--speed", drive.speed, "plant seconds per second; above 1 only for a simulated plate")
        ->check(between(1, 200));

    TuneOptions tune;
    CLI::App* tuneApp = app.add_subcommand(
        "tune", "Heats the bare plate once and learns its heat capacity, losses, lags and gains.");
    tuneApp->add_option("LINK", tune.plate, "plate link file (.plate.json)")->required();
    tuneApp->add_option("--power", tune.powerW, "power of the heater in W, as on the plate")
        ->required()
        ->check(between(5, 20000));
    tuneApp->add_option("--out", tune.out, "link file to write; the one that was read if not given");
    tuneApp->add_option("--top", tune.topC, "highest plate temperature of this heating, C")
        ->check(between(100, 250))
        ->capture_default_str();
    tuneApp->add_option("--ambient", tune.ambientC, "room, C")->check(between(5, 45))->capture_default_str();
    tuneApp->add_option("--plate-max", tune.plateMaxC, "highest temperature the plate may ever have, C")
        ->check(between(100, 450))
        ->capture_default_str();
    tuneApp->add_option("--shelf", tune.shelf,
                        "folder of your own shelf entries: what is learnt goes there as a plate that sheets "
                        "can choose");
    tuneApp->add_option("--size", tune.size,
                        "of the plate for its shelf entry: length along the strip x width x thickness in mm, "
                        "such as 100x100x8; asked for if not given");
    tuneApp->add_flag("--relay", tune.relay, "gains from a relay test after the heating");
    tuneApp->add_flag("--json", tune.json, "one JSON object a line");
    tuneApp->add_flag("--power-is-right", tune.powerIsRight,
                      "answers beforehand whether --power is right, where the climb makes it doubtful");
    tuneApp->add_flag("--plate-is-bare", tune.plateIsBare,
                      "nothing lies on the plate, and somebody stays with it: do not ask");
    tuneApp->add_option("--speed", tune.speed, "plant seconds per second; above 1 only for a simulated plate")
        ->check(between(1, 200));

    ConnectOptions connect;
    CLI::App* connectApp = app.add_subcommand(
        "connect",
        "Finds out how a plate's sensor is read, and proves with a little heat that it can be driven "
        "and that it cuts its heater when the line falls silent.");
    connectApp
        ->add_option("DRAFT", connect.draft,
                     "plate link file; registers/sensor_C may lack \"type\", \"order\" and \"scale\"")
        ->required();
    connectApp->add_option("--out", connect.out, "link file to write; the draft if not given");
    connectApp
        ->add_option("--plate-C", connect.plateC,
                     "what a thermometer on the cold plate reads, C; else 0 to 60 makes sense")
        ->check(between(0, 60));
    connectApp->add_flag("--cold-only", connect.coldOnly,
                         "only list what the sensor's registers may mean, until stopped; never heats");
    connectApp->add_flag("--plate-is-bare", connect.plateIsBare,
                         "nothing lies on the plate, and somebody stays with it: do not ask");
    connectApp->add_flag("--json", connect.json, "one JSON object a line");
    connectApp
        ->add_option("--speed", connect.speed, "plant seconds per second; above 1 only for a simulated plate")
        ->check(between(1, 200));

    FindOptions find;
    CLI::App* findApp = app.add_subcommand("find", "Asks which devices are on a line. Reads only.");
    findApp->add_option("LINE", find.line, "HOST[:PORT], or a serial device such as /dev/ttyUSB0")
        ->required();
    findApp->add_option("--baud", find.baud, "of a serial line; every one if not given")
        ->check(CLI::IsMember(serialBauds()));
    findApp->add_option("--frame", find.frame, "of a serial line; every one if not given")
        ->check(CLI::IsMember({"8N1", "8E1", "8O1", "8N2"}));
    findApp->add_option("--units", find.units,
                        "FIRST-LAST; over TCP all, on a serial line 1-10 if not given");
    findApp->add_flag("--json", find.json, "one JSON object a line");
    std::vector<std::string> links;
    CLI::App* checkApp = app.add_subcommand(
        "check-link", "Says what plate link files are and what is wrong with them. Opens no line.");
    checkApp->add_option("LINK", links, "plate link files (.plate.json)")->required();
    app.failure_message([](const CLI::App* failed, const CLI::Error& error) {
        const auto parsed = failed->get_subcommands();
        // The commands are known by the name of the program that hands them on.
        return usageWords(error.what(),
                          parsed.empty() ? failed->get_name() : "stripwright " + parsed.front()->get_name());
    });
    try {
        app.parse(argc, argv);
        if (app.get_subcommands().empty())
            for (const CLI::Option* option : needed)
                if (option->empty())
                    throw CLI::RequiredError(option->get_name());
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? 0 : 2;
    }
    if (tuneApp->parsed())
        return stripwright::tune(tune);
    if (connectApp->parsed())
        return connectPlate(connect);
    if (findApp->parsed())
        return findDevices(find);
    if (checkApp->parsed())
        return checkLinks(links);
    return stripwright::drive(drive);
}
