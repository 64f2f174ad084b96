#include "planner/heat_plan.h"

#include "materials/json_fields.h"

#include <array>
#include <cmath>

namespace stripwright {

using nlohmann::json;

namespace {

const char* const format = "stripwright-heat-plan";
constexpr int version = 1;

const std::vector<std::string> metricNames = {
    "steepest_rise", "soak_time",        "time_above", "peak",         "mean_cooling", "steepest_fall",
    "time_to_peak",  "liquid_for_hands", "wetting",    "spent_before", "set_down_step"};

const std::vector<std::string> raisedNames = {"by_time", "when_not_seated"};

/// Decimals that carry meaning: curves are good to tenths of a kelvin, duty to a promille.
json roundedTo(const std::vector<double>& values, int decimals)
{
    const double scale = std::pow(10, decimals);
    json list = json::array();
    for (double value : values)
        list.push_back(std::round(value * scale) / scale);
    return list;
}

template <class Value> void putIfAny(json& object, const char* key, const std::optional<Value>& value)
{
    if (value)
        object[key] = *value;
}

json toJson(const MarginRow& row)
{
    json object{{"id", row.limit.id},
                {"station", row.limit.station.name()},
                {"what", row.limit.what},
                {"metric", metricNames[static_cast<size_t>(row.limit.metric)]},
                {"unit", row.limit.unit()},
                {"habit", row.limit.habit},
                {"protects", row.limit.protects},
                {"level_C", row.limit.levelC},
                {"upper_level_C", row.limit.upperLevelC},
                {"margin", row.margin},
                {"normalised_margin", row.normalisedMargin}};
    if (row.limit.skipS > 0)
        object["skip_s"] = row.limit.skipS;
    putIfAny(object, "only_if_reaches_C", row.limit.onlyIfReachesC);
    putIfAny(object, "until_reaches_C", row.limit.untilReachesC);
    putIfAny(object, "min", row.limit.min);
    putIfAny(object, "max", row.limit.max);
    putIfAny(object, "low", row.low);
    putIfAny(object, "nominal", row.nominal);
    putIfAny(object, "high", row.high);
    return object;
}

json toJson(const PlateResponse& fit)
{
    json object{{"gain", fit.gain}, {"lag_s", fit.lagS}, {"worst_error_K", fit.worstErrorK}};
    if (fit.secondLagS > 0) {
        object["second_lag_s"] = fit.secondLagS;
        object["second_share"] = fit.secondShare;
    }
    return object;
}

json toJson(const JointModel& joint)
{
    json object{{"site", joint.site},
                {"low", toJson(joint.low)},
                {"nominal", toJson(joint.nominal)},
                {"high", toJson(joint.high)}};
    if (joint.poor)
        object["poor"] = toJson(*joint.poor);
    return object;
}

json toJson(const PartModel& part)
{
    json object{{"station", part.station.name()},
                {"max_C", part.maxC},
                {"low", toJson(part.low)},
                {"nominal", toJson(part.nominal)},
                {"high", toJson(part.high)}};
    putIfAny(object, "near_C", part.nearC);
    putIfAny(object, "near_most_s", part.nearMostS);
    return object;
}

json toJson(const NewLed& led)
{
    json object{{"site", led.site},
                {"set_down_s", led.setDownS},
                {"start_C", led.startC},
                {"step_K", led.stepK},
                {"pad_lowest_C", led.padLowestC},
                {"pad_lowest_after_s", led.padLowestAfterS},
                {"time_s", roundedTo(led.timeS, 3)},
                {"body_C", roundedTo(led.bodyC, 2)}};
    putIfAny(object, "liquid_after_s", led.liquidAfterS);
    return object;
}

/// Elements of an array member, each with its own Fields; a missing or wrong member is a problem.
template <class Read> void eachOf(Fields& fields, const std::string& key, Read read)
{
    const json* list = fields.required(key, "an array");
    if (!list)
        return;
    if (!list->is_array()) {
        fields.report(key, quoted(*list), "an array");
        return;
    }
    for (size_t i = 0; i < list->size(); ++i) {
        Fields element((*list)[i], fields.file(), fields.at(key) + "/" + std::to_string(i),
                       fields.problems());
        read(element);
        element.finish();
    }
}

std::vector<std::string> texts(Fields& fields, const std::string& key)
{
    std::vector<std::string> all;
    const json* list = fields.required(key, "an array of texts");
    if (!list)
        return all;
    if (!list->is_array()) {
        fields.report(key, quoted(*list), "an array of texts");
        return all;
    }
    for (size_t i = 0; i < list->size(); ++i)
        if ((*list)[i].is_string())
            all.push_back((*list)[i].get<std::string>());
        else
            addProblem(
                {fields.file(), fields.at(key) + "/" + std::to_string(i), quoted((*list)[i]), "a text"},
                fields.problems());
    return all;
}

SitePasses readPasses(Fields& fields)
{
    constexpr int most = 100;
    SitePasses passes;
    passes.site = fields.integer("site", 1, 10000);
    passes.before = fields.integer("before", 0, most);
    passes.inThisHeat = fields.integer("in_this_heat", 0, 1);
    passes.after = fields.integer("after", 0, most + 1);
    passes.allowed = fields.integer("allowed", 1, most);
    return passes;
}

StationId readStation(Fields& fields)
{
    const std::string name = fields.text("station");
    const auto station = StationId::named(name);
    if (!station && !name.empty())
        fields.report("station", quoted(json(name)), StationId::namesInWords());
    return station.value_or(StationId());
}

MarginRow readMargin(Fields& fields)
{
    MarginRow row;
    row.limit.id = fields.text("id");
    row.limit.station = readStation(fields);
    row.limit.what = fields.text("what");
    row.limit.metric = static_cast<Metric>(fields.choice("metric", metricNames));
    fields.text("unit");
    row.limit.habit = fields.flagOr("habit", false);
    row.limit.protects = fields.flagOr("protects", false);
    row.limit.levelC = fields.number("level_C");
    row.limit.upperLevelC = fields.number("upper_level_C");
    row.limit.skipS = fields.optionalNumber("skip_s", atLeast(0)).value_or(0);
    row.limit.onlyIfReachesC = fields.optionalNumber("only_if_reaches_C");
    row.limit.untilReachesC = fields.optionalNumber("until_reaches_C");
    row.limit.min = fields.optionalNumber("min");
    row.limit.max = fields.optionalNumber("max");
    row.low = fields.optionalNumber("low");
    row.nominal = fields.optionalNumber("nominal");
    row.high = fields.optionalNumber("high");
    if (const auto warmAir = fields.optionalNumber("warm_air")) // in plans from before scenarios had both
        row.high = warmAir;
    row.margin = fields.number("margin");
    row.normalisedMargin = fields.number("normalised_margin");
    return row;
}

PlateResponse readFit(Fields& fields, const char* key)
{
    PlateResponse fit;
    if (const json* value = fields.required(key, "a fitted response to the plate")) {
        Fields inner(*value, fields.file(), fields.at(key), fields.problems());
        fit = {inner.number("gain", within(0, 2)), inner.number("lag_s", above(0)),
               inner.number("worst_error_K", atLeast(0))};
        if (inner.optional("second_lag_s")) {
            fit.secondLagS = inner.number("second_lag_s", above(0));
            fit.secondShare = inner.number("second_share", within(-3, 3));
        }
        inner.finish();
    }
    return fit;
}

JointModel readJoint(Fields& fields)
{
    JointModel joint;
    joint.site = fields.integer("site", 1, 10000);
    joint.low = readFit(fields, "low");
    joint.nominal = readFit(fields, "nominal");
    joint.high = readFit(fields, "high");
    if (fields.optional("poor"))
        joint.poor = readFit(fields, "poor");
    return joint;
}

PartModel readPart(Fields& fields)
{
    PartModel part;
    part.station = readStation(fields);
    part.maxC = fields.number("max_C", within(0, 600));
    part.nearC = fields.optionalNumber("near_C", within(0, 600));
    part.nearMostS = fields.optionalNumber("near_most_s", above(0));
    part.low = readFit(fields, "low");
    part.nominal = readFit(fields, "nominal");
    part.high = readFit(fields, "high");
    return part;
}

NewLed readNewLed(Fields& fields)
{
    constexpr double coldestC = -60, hottestC = 600;
    NewLed led;
    led.site = fields.integer("site", 1, 10000);
    led.setDownS = fields.number("set_down_s", atLeast(0));
    led.startC = fields.number("start_C", within(coldestC, hottestC));
    led.stepK = fields.number("step_K");
    led.padLowestC = fields.number("pad_lowest_C", within(coldestC, hottestC));
    led.padLowestAfterS = fields.number("pad_lowest_after_s", atLeast(0));
    led.liquidAfterS = fields.optionalNumber("liquid_after_s", atLeast(0));
    led.timeS = fields.numbers("time_s", atLeast(0));
    led.bodyC = fields.numbers("body_C", within(coldestC, hottestC));
    if (led.bodyC.size() != led.timeS.size())
        fields.report("body_C", std::to_string(led.bodyC.size()) + " values",
                      std::to_string(led.timeS.size()) + ", as in time_s");
    return led;
}

std::optional<HandTimes> readHands(Fields& fields)
{
    const json* value = fields.optional("hands");
    if (!value)
        return {};
    Fields inner(*value, fields.file(), fields.at("hands"), fields.problems());
    HandTimes hands;
    hands.sureFromS = inner.optionalNumber("sure_from_s", atLeast(0));
    hands.doneS = inner.numbers("done_s", atLeast(0));
    inner.finish();
    return hands;
}

void readCurves(Fields& fields, HeatPlan& plan)
{
    constexpr double coldestC = -60, hottestC = 600;
    plan.timeS = fields.numbers("time_s", atLeast(0));
    plan.plateC = fields.numbers("plate_C", within(coldestC, hottestC));
    plan.duty = fields.numbers("duty", within(0, 1));
    const size_t samples = plan.timeS.size();
    for (size_t i = 1; i < samples; ++i)
        if (!(plan.timeS[i] > plan.timeS[i - 1])) {
            fields.problems().push_back({fields.file(), fields.at("time_s") + "/" + std::to_string(i),
                                         quoted(json(plan.timeS[i])), "a time after the one before it"});
            break;
        }
    auto sameLength = [&](const std::vector<double>& values, Fields& at, const std::string& key) {
        if (values.size() != samples)
            at.report(key, std::to_string(values.size()) + " values",
                      std::to_string(samples) + ", as in time_s");
    };
    sameLength(plan.plateC, fields, "plate_C");
    sameLength(plan.duty, fields, "duty");
    eachOf(fields, "curves", [&](Fields& at) {
        PlanCurve curve;
        curve.station = readStation(at);
        curve.lowC = at.numbers("low_C", within(coldestC, hottestC));
        curve.nominalC = at.numbers("nominal_C", within(coldestC, hottestC));
        curve.highC = at.numbers("high_C", within(coldestC, hottestC));
        sameLength(curve.lowC, at, "low_C");
        sameLength(curve.nominalC, at, "nominal_C");
        sameLength(curve.highC, at, "high_C");
        plan.curves.push_back(std::move(curve));
    });
}

} // namespace

json toJson(const HeatPlan& plan)
{
    json document{{"format", format},
                  {"version", version},
                  {"sheet", toJson(plan.sheet)},
                  {"heat", plan.heat},
                  {"of_heats", plan.ofHeats},
                  {"runnable", plan.runnable},
                  {"refusals", plan.refusals},
                  {"warnings", plan.warnings},
                  {"time_s", plan.timeS},
                  {"plate_C", roundedTo(plan.plateC, 3)},
                  {"duty", roundedTo(plan.duty, 4)},
                  {"heater_off_s", plan.heaterOffS},
                  {"safe_below_C", plan.safeBelowC},
                  {"trip_above_C", plan.tripAboveC}};
    putIfAny(document, "lift_at_s", plan.liftAtS);
    putIfAny(document, "left_alone_at_most_C", plan.leftAloneAtMostC);
    if (plan.hands) {
        document["hands"] = {{"done_s", plan.hands->doneS}};
        putIfAny(document["hands"], "sure_from_s", plan.hands->sureFromS);
    }
    document["new_leds"] = json::array();
    for (const NewLed& led : plan.newLeds)
        document["new_leds"].push_back(toJson(led));
    for (const char* key :
         {"curves", "joints", "parts", "margins", "passes", "stages", "cards", "suggestions"})
        document[key] = json::array();
    for (const PlanCurve& curve : plan.curves)
        document["curves"].push_back({{"station", curve.station.name()},
                                      {"low_C", roundedTo(curve.lowC, 2)},
                                      {"nominal_C", roundedTo(curve.nominalC, 2)},
                                      {"high_C", roundedTo(curve.highC, 2)}});
    for (const JointModel& joint : plan.joints)
        document["joints"].push_back(toJson(joint));
    for (const PartModel& part : plan.parts)
        document["parts"].push_back(toJson(part));
    for (const MarginRow& row : plan.margins)
        document["margins"].push_back(toJson(row));
    for (const SitePasses& passes : plan.passes)
        document["passes"].push_back({{"site", passes.site},
                                      {"before", passes.before},
                                      {"in_this_heat", passes.inThisHeat},
                                      {"after", passes.after},
                                      {"allowed", passes.allowed}});
    for (const Stage& stage : plan.stages)
        document["stages"].push_back(
            {{"name", stage.name}, {"start_s", stage.startS}, {"end_s", stage.endS}});
    for (const HandCard& card : plan.cards)
        document["cards"].push_back({{"id", card.id},
                                     {"at_s", card.atS},
                                     {"until_s", card.untilS},
                                     {"text", card.text},
                                     {"plate_does", card.plateDoes},
                                     {"otherwise", card.otherwise},
                                     {"must_confirm", card.mustConfirm},
                                     {"asks_liquid", card.asksLiquid},
                                     {"raised", raisedNames[static_cast<size_t>(card.raised)]}});
    for (const Suggestion& suggestion : plan.suggestions)
        document["suggestions"].push_back(suggestion.what);
    return document;
}

HeatPlan readHeatPlan(const std::string& text, const std::string& fileName)
{
    std::vector<Problem> problems;
    const auto document = parseDocument(text, fileName, format, version, problems);
    if (!document)
        throw BadInput(problems);
    HeatPlan plan;
    Fields fields(*document, fileName, "", problems);
    fields.text("format");
    fields.integer("version", version, version);
    if (const json* sheet = fields.required("sheet", "the bench sheet the plan was made from")) {
        try {
            plan.sheet = readBenchSheet(*sheet, fileName, "/sheet", Shelf{});
        } catch (const BadInput& bad) {
            problems.insert(problems.end(), bad.problems().begin(), bad.problems().end());
        }
    }
    if (fields.optional("heat") || fields.optional("of_heats")) {
        plan.ofHeats = fields.integer("of_heats", 1, 1000);
        plan.heat = fields.integer("heat", 1, plan.ofHeats);
    }
    plan.runnable = fields.flagOr("runnable", false);
    plan.refusals = texts(fields, "refusals");
    plan.warnings = texts(fields, "warnings");
    readCurves(fields, plan);
    plan.heaterOffS = fields.number("heater_off_s", atLeast(0));
    plan.liftAtS = fields.optionalNumber("lift_at_s", atLeast(0));
    plan.leftAloneAtMostC = fields.optionalNumber("left_alone_at_most_C", within(0, 2000));
    plan.safeBelowC = fields.number("safe_below_C", within(20, 60));
    plan.tripAboveC = fields.number("trip_above_C", within(0, 600));
    eachOf(fields, "joints", [&](Fields& at) { plan.joints.push_back(readJoint(at)); });
    // Plans in older run logs have no hands, new LEDs, parts and passes.
    plan.hands = readHands(fields);
    if (fields.optional("new_leds"))
        eachOf(fields, "new_leds", [&](Fields& at) { plan.newLeds.push_back(readNewLed(at)); });
    if (fields.optional("parts"))
        eachOf(fields, "parts", [&](Fields& at) { plan.parts.push_back(readPart(at)); });
    if (plan.parts.size() > partModelsMost)
        fields.report("parts", std::to_string(plan.parts.size()) + " parts",
                      "at most " + std::to_string(partModelsMost));
    eachOf(fields, "margins", [&](Fields& at) { plan.margins.push_back(readMargin(at)); });
    if (fields.optional("passes"))
        eachOf(fields, "passes", [&](Fields& at) { plan.passes.push_back(readPasses(at)); });
    eachOf(fields, "stages", [&](Fields& at) {
        Stage stage;
        stage.name = at.text("name");
        stage.startS = at.number("start_s");
        stage.endS = at.number("end_s");
        plan.stages.push_back(stage);
    });
    eachOf(fields, "cards", [&](Fields& at) {
        HandCard card;
        card.id = at.text("id");
        card.atS = at.number("at_s");
        card.untilS = at.number("until_s");
        card.text = at.text("text");
        card.plateDoes = at.textOr("plate_does", "");
        card.otherwise = at.textOr("otherwise", "");
        card.mustConfirm = at.flagOr("must_confirm", false);
        card.asksLiquid = at.flagOr("asks_liquid", false);
        card.raised = static_cast<Raised>(at.choice("raised", raisedNames, 0));
        plan.cards.push_back(card);
    });
    for (std::string& what : texts(fields, "suggestions"))
        plan.suggestions.push_back({std::move(what), {}});
    fields.finish();
    if (plan.runnable && plan.timeS.size() < 2)
        problems.push_back({fileName, "/time_s", std::to_string(plan.timeS.size()) + " values",
                            "a curve, in a plan that is runnable"});
    if (!problems.empty())
        throw BadInput(problems);
    return plan;
}

} // namespace stripwright
