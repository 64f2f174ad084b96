#include "commands/command_line.h"

#include "messages/usage_words.h"

#include <CLI/CLI.hpp>

namespace stripwright {

std::variant<WindowCommand, TerminalCommand, int> parseCommandLine(int argc, const char* const* argv)
{
    CLI::App app("Plans and runs the controlled heating of aluminium-core LED strips on a hot plate.\n"
                 "Without a command the window opens.\n",
                 "stripwright");
    app.footer("Exit codes: 0 ok (of run: the heat ran to its end, its record cut short or not),\n"
               "1 internal failure or heater off never confirmed, 2 usage, 3 bad input,\n"
               "4 no plan keeps every limit, 5 plate not reachable or in use, 6 stopped by the\n"
               "operator, 7 stopped by a limit or interlock, or not begun for one, 8 cannot write.");
    app.require_subcommand(0, 1);

    // CLI::Range lets "nan" through.
    const CLI::Validator speedRange(
        [](const std::string& text) {
            double speed = 0;
            const bool fits = CLI::detail::lexical_cast(text, speed) && speed >= 1 && speed <= 200;
            return fits ? std::string() : "found " + text + ", expected a number from 1 to 200";
        },
        "1 to 200");

    WindowCommand window;
    DemoCommand demo;
    std::string demoFolder, runsOfWindow;
    bool isHeadless = false, isDark = false, isLight = false;
    std::optional<double> speed;
    CLI::Option* headless =
        app.add_flag("--headless", isHeadless, "Plan, run and review the demo sheet in the terminal.");
    app.add_option("--out", demoFolder,
                   "Folder for what the demo job leaves; a new temporary one if not given.")
        ->needs(headless);
    app.add_option("--speed", speed,
                   "Plate seconds in a second on the simulated plate: 1 in the window, 20 for its pictures, "
                   "40 in the demo job if not given.")
        ->check(speedRange);
    app.add_option("--sheet", window.sheet, "Bench sheet to open in the window; the demo sheet if not given.")
        ->excludes(headless);
    app.add_option("--plate", window.plateLink,
                   "Plate link of the window's plate; a simulated one if not given.")
        ->excludes(headless);
    app.add_option("--runs", runsOfWindow, "Run log of the window; your own if not given.")
        ->excludes(headless);
    app.add_option(
           "--screenshots", window.screenshotsFolder,
           "Make a run on the simulated plate, leave a picture of each place in this folder, and end.")
        ->excludes(headless);
    CLI::Option* dark = app.add_flag("--dark", isDark, "Dark window.")->excludes(headless);
    app.add_flag("--light", isLight, "Light window.")->excludes(headless)->excludes(dark);

    PlanCommand plan;
    CLI::App* planApp = app.add_subcommand("plan", "Find the heat that keeps every limit of a bench sheet.");
    planApp->add_option("SHEET", plan.sheet, "Bench sheet (.bench.json).")->required();
    planApp->add_option("--out", plan.out, "Heat plan to write (.plan.json).");
    planApp->add_flag("--what-if", plan.whatIf,
                      "Plan again with each thing the hands could change, and rank what it does.");
    planApp->add_option("--hands-from", plan.handsFrom,
                        "Run log that says how long these hands take; instead of the sheet's pace.");
    planApp->add_flag("--all", plan.all, "Every limit as a table, not only the broken and the tightest.");
    planApp->add_flag("--json", plan.json, "Answer as JSON.");
    planApp->footer(
        "Some refusals can be overridden by name in the sheet, as \"overrides\": [\"bismuth-over-lead\"]:\n"
        "  bismuth-over-lead  a bismuth paste where the old solder holds or may hold lead\n"
        "  lead-over-bismuth  a lead paste where the old solder holds or may hold bismuth\n"
        "                     (either: the pads are wicked fully while the strip is cold;\n"
        "                     what stays melts near 96 °C and the LED may fall off)\n"
        "  lens-foot-softens  a lens released by heat that spoils its foot: it goes to waste\n"
        "Lifting a strip whose joints are still liquid is \"accepts_moving_molten\": true in\n"
        "the sheet's \"cooling\".");

    PredictCommand predict;
    CLI::App* predictApp = app.add_subcommand("predict", "Temperatures of a strip over a given plate curve.");
    predictApp->add_option("SHEET", predict.sheet, "Bench sheet (.bench.json).")->required();
    predictApp->add_option("--plate-curve", predict.plateCurve, "CSV with columns time_s and plate_C.")
        ->required();
    predictApp->add_option("--out", predict.out, "CSV to write.")->required();
    predictApp->add_option("--at", predict.stripXMm, "Further place on the strip, mm from the connector end.")
        ->take_all()
        ->allow_extra_args(false);
    predictApp->add_flag("--json", predict.json, "Say what was done, and the solver's time, as JSON.");

    RunCommand run;
    std::string runsOfRun;
    CLI::App* runApp = app.add_subcommand("run", "Run a heat plan and keep what happened.");
    runApp->add_option("PLAN", run.plan, "Heat plan (.plan.json).")->required();
    runApp->add_option("--plate", run.plateLink, "Plate link (.plate.json); a simulated plate if not given.");
    runApp->add_option("--runs", runsOfRun, "Run log; your own if not given.");
    runApp->add_flag("--out-of-order", run.outOfOrder,
                     "Run it without asking though heats before it were not run, or it was already.");
    runApp->add_option("--speed", run.speed, "Plate seconds in a second, simulated plates only.")
        ->check(speedRange);

    RunningCommand running;
    CLI::App* runningApp =
        app.add_subcommand("running", "What of yours heats or may heat a plate, and where each stands.");
    runningApp->add_flag("--json", running.json, "Answer as JSON.");

    StopCommand stop;
    CLI::App* stopApp = app.add_subcommand(
        "stop", "Turn the heat off that a controller gives, and wait until that was read back.");
    FollowCommand follow;
    CLI::App* followApp = app.add_subcommand(
        "follow", "Take up a run that goes on: its progress, its cards, and Ctrl+C to stop the heat.");
    for (const auto& [taken, process] : {std::pair{stopApp, &stop.process}, {followApp, &follow.process}})
        taken
            ->add_option("PROCESS", *process,
                         "Number of the process, as \"running\" shows it; not needed if there is but one.")
            ->check(CLI::Validator(
                [](const std::string& text) {
                    const bool whole = !text.empty() && text.front() != '0' && text.size() < 10 &&
                                       text.find_first_not_of("0123456789") == std::string::npos;
                    return whole ? std::string() : "found " + text + ", expected the number of a process";
                },
                "NUMBER"));

    ReviewCommand review;
    std::string runsOfReview;
    CLI::App* reviewApp = app.add_subcommand("review", "Metrics and margins of a recorded run.");
    reviewApp->add_option("RUN", review.run, "Key of the run; the newest if not given.");
    reviewApp->add_option("--runs", runsOfReview, "Run log; your own if not given.");
    reviewApp->add_option("--csv", review.csv, "Write every sample as CSV.");
    reviewApp->add_option("--png", review.png, "Write a picture of the curves.");
    reviewApp->add_flag("--json", review.json, "Answer as JSON.");

    CheckCommand check;
    CLI::App* checkApp = app.add_subcommand("check", "Say what is wrong with files.");
    checkApp
        ->add_option("FILE", check.files,
                     "Bench sheets, heat plans, plate links, shelf files, plate curves, run logs.")
        ->required();

    RunsCommand runs;
    CLI::App* runsApp =
        app.add_subcommand("runs", "Say what is in a run log and whether it is sound; copy it.");
    runsApp->add_option("FILE", runs.file, "Run log.")->required();
    runsApp->add_option("--copy-to", runs.copyTo,
                        "Copy into this new file, safe while a run is being written.");
    runsApp->add_option("--salvage-to", runs.salvageTo, "Write what can be read into this new file.");
    runsApp->add_flag("--json", runs.json, "Answer as JSON.");

    // What these take, their help too, is the controller's to say.
    for (const auto& [name, what] :
         {std::pair{"find", "Ask which devices are on a Modbus line."},
          std::pair{"connect",
                    "Find out how a bare plate is read and driven, and prove it with a little heat."},
          std::pair{"tune", "Heat the bare plate once and learn its heat."}}) {
        CLI::App* handedOn = app.add_subcommand(name, what);
        handedOn->prefix_command();
        handedOn->set_help_flag();
    }

    const auto everyApp = [&app](const auto& work) {
        work(app);
        for (CLI::App* one : app.get_subcommands({}))
            work(*one);
    };
    everyApp([](CLI::App& one) {
        for (CLI::Option* option : one.get_options())
            if (option->get_expected_max() == 0 && option != one.get_help_ptr())
                option->disable_flag_override(); // "--json=3" is a slip
    });
    app.failure_message([](const CLI::App* failed, const CLI::Error& error) {
        const auto parsed = failed->get_subcommands();
        if (parsed.empty() && dynamic_cast<const CLI::ExtrasError*>(&error)) {
            std::string commands;
            for (const CLI::App* one : failed->get_subcommands([](const CLI::App*) { return true; }))
                commands += (commands.empty() ? "" : ", ") + one->get_name();
            return usageWords(std::string(error.what()) + " (commands: " + commands + ")", "stripwright");
        }
        return usageWords(error.what(),
                          parsed.empty() ? "stripwright" : "stripwright " + parsed.front()->get_name());
    });
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? exitOk : exitUsage;
    }
    run.runs = runsOfRun;
    review.runs = runsOfReview;
    if (planApp->parsed())
        return TerminalCommand(plan);
    if (predictApp->parsed())
        return TerminalCommand(predict);
    if (runApp->parsed())
        return TerminalCommand(run);
    if (runningApp->parsed())
        return TerminalCommand(running);
    if (stopApp->parsed())
        return TerminalCommand(stop);
    if (followApp->parsed())
        return TerminalCommand(follow);
    if (reviewApp->parsed())
        return TerminalCommand(review);
    if (checkApp->parsed())
        return TerminalCommand(check);
    if (runsApp->parsed())
        return TerminalCommand(runs);
    for (const CLI::App* handedOn : app.get_subcommands()) {
        ControllerCommand controller{handedOn->remaining()};
        controller.arguments.insert(controller.arguments.begin(), handedOn->get_name());
        return TerminalCommand(controller);
    }
    if (isHeadless) {
        demo.folder = demoFolder;
        demo.speed = speed.value_or(demo.speed);
        return TerminalCommand(demo);
    }
    window.runs = runsOfWindow;
    constexpr double picturesSpeed = 20; // a heat takes minutes, and nobody watches this one
    window.speed = speed.value_or(window.screenshotsFolder.empty() ? window.speed : picturesSpeed);
    if (isDark || isLight)
        window.dark = isDark;
    return window;
}

int carryOut(const TerminalCommand& command)
{
    int code = exitOk;
    try {
        code = std::visit([](const auto& one) { return carryOut(one); }, command);
    } catch (...) {
        code = exitCodeOfCurrentException();
    }
    return withOutputWritten(code);
}

} // namespace stripwright
