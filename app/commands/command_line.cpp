#include "commands/command_line.h"

#include <CLI/CLI.hpp>

namespace stripwright {

std::variant<AnyCommand, int> parseCommandLine(int argc, const char* const* argv)
{
    CLI::App app("Plans and runs the controlled heating of aluminium-core LED strips on a hot plate.\n"
                 "Without a command the window opens.\n",
                 "stripwright");
    app.footer("Exit codes: 0 ok, 1 internal failure, 2 usage, 3 bad input, 4 no plan keeps every limit,\n"
               "5 plate not reachable, 6 stopped by the operator, 7 stopped by a limit or interlock, 8 cannot write.");
    app.require_subcommand(0, 1);

    DemoCommand demo;
    std::string demoFolder;
    CLI::Option* headless = app.add_flag("--headless", "Plan, run and review the demo sheet in the terminal.");
    const auto speedRange = CLI::Range(0.1, 200.0);
    app.add_option("--speed", demo.speed, "Plate seconds in a second of the demo job, 40 if not given.")
        ->check(speedRange)
        ->needs(headless);
    app.add_option("--out", demoFolder, "Folder for what the demo job leaves; a new temporary one if not given.")
        ->needs(headless);

    PlanCommand plan;
    CLI::App* planApp = app.add_subcommand("plan", "Find the heat that keeps every limit of a bench sheet.");
    planApp->add_option("SHEET", plan.sheet, "Bench sheet (.bench.json).")->required();
    planApp->add_option("--out", plan.out, "Heat plan to write (.plan.json).");
    planApp->add_flag("--json", plan.json, "Answer as JSON.");

    PredictCommand predict;
    CLI::App* predictApp = app.add_subcommand("predict", "Temperatures of a strip over a given plate curve.");
    predictApp->add_option("SHEET", predict.sheet, "Bench sheet (.bench.json).")->required();
    predictApp->add_option("--plate-curve", predict.plateCurve, "CSV with columns time_s and plate_C.")->required();
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
    runApp->add_option("--speed", run.speed, "Plate seconds in a second, simulated plates only.")->check(speedRange);

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
    checkApp->add_option("FILE", check.files, "Bench sheets, heat plans, shelf files, plate curves, run logs.")
        ->required();

    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error) == 0 ? exitOk : exitUsage;
    }
    run.runs = runsOfRun;
    review.runs = runsOfReview;
    if (planApp->parsed())
        return plan;
    if (predictApp->parsed())
        return predict;
    if (runApp->parsed())
        return run;
    if (reviewApp->parsed())
        return review;
    if (checkApp->parsed())
        return check;
    if (headless->count() > 0) {
        demo.folder = demoFolder;
        return demo;
    }
    return WindowCommand{};
}

} // namespace stripwright
