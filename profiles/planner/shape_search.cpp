#include "planner/shape_search.h"

#include "planner/heat_aim.h"

#include <nlopt.hpp>

#include <algorithm>
#include <cmath>
#include <future>
#include <limits>

namespace stripwright {

namespace {

constexpr double searchStepS = 4;

double worstOfLimits(const std::vector<MarginRow>& rows)
{
    double worst = std::numeric_limits<double>::infinity();
    for (const MarginRow& row : rows)
        if (!row.limit.habit)
            worst = std::min(worst, row.normalisedMargin);
    return worst;
}

/// A limit as the search sees it.
struct Aim {
    Limit limit;
    bool isPart = false;  ///< About a part to protect, not about the joint to be made.
    bool givenUp = false; ///< A part that no curve saves; it should come off, and must not spoil the rest.
    size_t station = 0;   ///< Index into the response's stations; unused for the plate.
};

/// One number to climb. The job comes first: a joint that is not made saves no lens. Then the parts, then the
/// worst margin of all, with a little of the mean so that margins that are not the worst still count.
class Score {
public:
    void add(const Aim& aim, double normalisedMargin)
    {
        const double margin = std::clamp(normalisedMargin, -20.0, 1.0);
        sum_ += std::max(margin, -2.0);
        ++count_;
        if (aim.limit.habit)
            brokenHabits_ += std::min(0.0, std::max(margin, -2.0));
        else if (aim.givenUp)
            givenUp_ += std::min(0.0, margin);
        else
            (aim.isPart ? part_ : job_) = std::min(aim.isPart ? part_ : job_, margin);
    }
    double value() const
    {
        return 10 * std::min(0.0, job_) + std::min(0.0, part_) +
               std::min(std::max(0.0, job_), std::max(0.0, part_)) + 0.5 * brokenHabits_ + 0.02 * givenUp_ +
               0.02 * sum_ / std::max(1, count_);
    }

private:
    double job_ = 1, part_ = 1, brokenHabits_ = 0, givenUp_ = 0, sum_ = 0;
    int count_ = 0;
};

class Search {
public:
    explicit Search(const BenchSheet& sheet)
        : sheet_(sheet), limits_(limitsOf(sheet)), aim_(heatAimOf(sheet, limits_))
    {
    }

    Answer run()
    {
        setBounds();
        draw_ = roughDraw();
        std::array<double, Shape::count> best = firstGuess().values();
        Answer answer = wholeModel(Shape::from(best));
        watch(answer);
        answer = wholeModel(Shape::from(best)); // with the strip's draw now known
        correctBy(answer);
        // Each round searches with the residue of the one before; two corrections leave tenths of a kelvin.
        struct Round {
            int evaluations;
            double reach;
        };
        for (const Round round : {Round{400, 0.25}, Round{250, 0.08}, Round{150, 0.02}}) {
            climb(best, round.evaluations, round.reach);
            Answer next = wholeModel(Shape::from(best));
            giveUpBrokenParts(next);
            if (score(next) > score(answer))
                answer = next;
            watch(next);
            correctBy(next);
        }
        return answer;
    }

private:
    double typicalStripC() const
    {
        const double hotC = meltsJoints(sheet_.heat) ? sheet_.paste.alloy.liquidusC : aim_.peakC;
        return 0.6 * hotC + 0.4 * sheet_.air.ambientC;
    }

    bool isPart(const Limit& limit) const { return !isAboutTheJob(sheet_, limit.station); }

    // Limits that the search must look at: all of the job, and parts that are not far inside theirs.
    void watch(const Answer& answer)
    {
        constexpr double farInside = 2.0;
        const size_t before = aims_.size();
        for (const MarginRow& row : answer.margins) {
            const bool known = std::any_of(aims_.begin(), aims_.end(),
                                           [&](const Aim& aim) { return aim.limit.id == row.limit.id; });
            if (!known && (!isPart(row.limit) || row.normalisedMargin <= farInside))
                aims_.push_back({row.limit, isPart(row.limit)});
        }
        if (aims_.size() == before)
            return;
        std::vector<std::string> stations;
        for (Aim& aim : aims_) {
            const auto found = std::find(stations.begin(), stations.end(), aim.limit.station);
            aim.station = found - stations.begin();
            if (found == stations.end() && aim.limit.station != "plate")
                stations.push_back(aim.limit.station);
        }
        response_ = UnitResponse(sheet_, stations, searchStepS, horizonS, typicalStripC());
        draw_ = response_.draw();
    }

    void giveUpBrokenParts(const Answer& answer)
    {
        for (Aim& aim : aims_)
            for (const MarginRow& row : answer.margins)
                if (aim.isPart && row.limit.id == aim.limit.id && row.normalisedMargin < 0)
                    aim.givenUp = true;
    }

    // Before the model has been asked: the strip over the plate, and as much again for its fins.
    StripDraw roughDraw() const
    {
        const Core& core = sheet_.strip.core;
        const double m2 = sheet_.plate.lengthMm * sheet_.strip.widthMm * 1e-6;
        return {2 * core.densityKgPerM3 * core.heatCapacityJPerKgK * core.thicknessMm * 1e-3 * m2,
                2 * 40 * m2};
    }

    // Joint's rise over the plate's in the even part of a plate: { lowest contact, nominal }.
    std::pair<double, double> gains() const
    {
        constexpr double lossWPerM2K = 40;
        auto gain = [](double contact) { return contact / (contact + lossWPerM2K); };
        return {gain(sheet_.contact.lowWPerM2K), gain(sheet_.contact.nominalWPerM2K)};
    }

    double plateFor(double jointC, double gain) const
    {
        return sheet_.air.ambientC + (jointC - sheet_.air.ambientC) / gain;
    }

    Shape firstGuess() const
    {
        const auto [lowest, mean] = gains();
        Shape shape;
        const double strongest =
            strongestRampCPerS(sheet_.plate, draw_, plateFor(aim_.soakLowC, mean), sheet_.air.ambientC);
        shape.soakRampCPerS = std::clamp(strongest, 0.1, 0.6 * aim_.rampMaxCPerS);
        shape.soakStartC = plateFor(aim_.soakLowC + 0.1 * (aim_.soakHighC - aim_.soakLowC), lowest);
        shape.soakEndC = plateFor(aim_.soakHighC - 0.1 * (aim_.soakHighC - aim_.soakLowC), mean);
        shape.soakS = aim_.soakS;
        shape.peakRampCPerS = shape.soakRampCPerS;
        shape.peakC = std::min(plateFor(aim_.peakC, mean), sheet_.plate.maxC);
        shape.holdS = aim_.holdS;
        return shape;
    }

    void setBounds()
    {
        const double ambient = sheet_.air.ambientC, hottest = sheet_.plate.maxC;
        low_ = {0.05, ambient + 5, 0, ambient + 5, 0.05, ambient + 20, 0};
        high_ = {4, hottest, 400, hottest, 4, hottest, std::max(120.0, 2 * aim_.holdS)};
    }

    double judge(const Shape& shape)
    {
        const PlateReference reference = followShape(shape, sheet_.plate, draw_, sheet_.air.ambientC,
                                                     sheet_.cooling.fan, searchStepS, horizonS);
        response_.curves(reference.plateC, sheet_.air.ambientC, curves_);
        const size_t samples = reference.plateC.size();
        addResidue(reference.heaterOffS, samples);
        timeS_.resize(samples);
        for (size_t i = 0; i < samples; ++i)
            timeS_[i] = i * searchStepS;

        Score score;
        const size_t stations = response_.stations().size();
        for (const Aim& aim : aims_) {
            double worst = std::numeric_limits<double>::infinity();
            if (aim.limit.station == "plate") {
                worst = marginOf(aim.limit, measure(aim.limit, {timeS_, reference.plateC}));
            } else {
                for (size_t level = 0; level < contactLevels.size(); ++level) {
                    const double* values = &curves_[(level * stations + aim.station) * samples];
                    worst =
                        std::min(worst, marginOf(aim.limit, measure(aim.limit, {timeS_, {values, samples}})));
                }
            }
            score.add(aim, worst / aim.limit.halfWindow());
        }
        return score.value();
    }

    double score(const Answer& answer) const
    {
        Score score;
        for (const MarginRow& row : answer.margins)
            for (const Aim& aim : aims_)
                if (aim.limit.id == row.limit.id)
                    score.add(aim, row.normalisedMargin);
        return score.value();
    }

    // Residue of the whole model over superposition, kept by time from heater-off: that is where fan, lift
    // and the fourth power of radiation make themselves felt, and what moves when a shape is stretched.
    void addResidue(double heaterOffS, size_t samples)
    {
        if (residue_.empty())
            return;
        const long shift = std::lround((heaterOffS - residueOffS_) / searchStepS);
        const size_t columns = response_.columns();
        for (size_t column = 0; column < columns; ++column)
            for (size_t i = 0; i < samples; ++i) {
                const long from =
                    std::clamp<long>(static_cast<long>(i) - shift, 0, static_cast<long>(residueSamples_) - 1);
                curves_[column * samples + i] += residue_[column * residueSamples_ + from];
            }
    }

    void correctBy(const Answer& answer)
    {
        const PlateReference coarse = followShape(answer.shape, sheet_.plate, draw_, sheet_.air.ambientC,
                                                  sheet_.cooling.fan, searchStepS, horizonS);
        response_.curves(coarse.plateC, sheet_.air.ambientC, curves_);
        residueSamples_ = coarse.plateC.size();
        residueOffS_ = coarse.heaterOffS;
        residue_.assign(curves_.size(), 0);
        const size_t stations = response_.stations().size();
        for (size_t level = 0; level < contactLevels.size(); ++level)
            for (size_t s = 0; s < stations; ++s) {
                const std::vector<double>& whole =
                    answer.predictions[level].find(response_.stations()[s])->valueC;
                for (size_t i = 0; i < residueSamples_; ++i) {
                    const size_t at =
                        std::min(whole.size() - 1, static_cast<size_t>(std::lround(i * searchStepS)));
                    const size_t k = (level * stations + s) * residueSamples_ + i;
                    residue_[k] = whole[at] - curves_[k];
                }
            }
    }

    void climb(std::array<double, Shape::count>& best, int evaluations, double reach)
    {
        nlopt::opt optimiser(nlopt::LN_SBPLX, Shape::count);
        optimiser.set_lower_bounds(std::vector<double>(low_.begin(), low_.end()));
        optimiser.set_upper_bounds(std::vector<double>(high_.begin(), high_.end()));
        optimiser.set_max_objective(
            [](const std::vector<double>& x, std::vector<double>&, void* self) {
                std::array<double, Shape::count> values;
                std::copy(x.begin(), x.end(), values.begin());
                return static_cast<Search*>(self)->judge(Shape::from(values));
            },
            this);
        optimiser.set_maxeval(evaluations);
        optimiser.set_ftol_abs(1e-4);
        const std::array<double, Shape::count> scale = {1, 40, 60, 40, 1, 40, 20};
        std::vector<double> step;
        for (double s : scale)
            step.push_back(s * reach);
        optimiser.set_initial_step(step);
        std::vector<double> x(best.begin(), best.end());
        for (size_t i = 0; i < x.size(); ++i)
            x[i] = std::clamp(x[i], low_[i], high_[i]);
        double reached = 0;
        optimiser.optimize(x, reached);
        std::copy(x.begin(), x.end(), best.begin());
    }

    // Moment from which every target joint, at every contact, is below the sheet's lifting temperature for
    // good.
    std::optional<double> liftMoment(const std::array<Prediction, 3>& predictions) const
    {
        if (!sheet_.cooling.liftBelowC)
            return {};
        double moment = 0;
        for (const Prediction& prediction : predictions)
            for (int site : sheet_.targets()) {
                const StationCurve* joint = prediction.find("joint_" + std::to_string(site));
                const auto fall =
                    lastFallThrough({prediction.timeS, joint->valueC}, *sheet_.cooling.liftBelowC);
                if (!fall)
                    return {};
                moment = std::max(moment, *fall);
            }
        return moment;
    }

    Answer wholeModel(const Shape& shape) const
    {
        Answer answer;
        answer.shape = shape;
        answer.reference =
            followShape(shape, sheet_.plate, draw_, sheet_.air.ambientC, sheet_.cooling.fan, 1, horizonS);
        PlateCurve plate;
        plate.plateC = answer.reference.plateC;
        for (size_t i = 0; i < plate.plateC.size(); ++i)
            plate.timeS.push_back(static_cast<double>(i));
        PredictOptions options;
        options.stepS = 1;
        if (sheet_.cooling.fan)
            options.fanFromS = answer.reference.heaterOffS;
        auto predictAll = [&] {
            std::array<std::future<Prediction>, contactLevels.size()> running;
            for (size_t level = 0; level < contactLevels.size(); ++level) {
                options.contact = contactLevels[level];
                running[level] = std::async(
                    std::launch::async, [this, &plate, options] { return predict(sheet_, plate, options); });
            }
            for (size_t level = 0; level < contactLevels.size(); ++level)
                answer.predictions[level] = running[level].get();
        };
        predictAll();
        answer.liftAtS = liftMoment(answer.predictions);
        if (answer.liftAtS) {
            options.liftAtS = answer.liftAtS;
            predictAll();
        }
        for (const Limit& limit : limits_) {
            if (limit.station == "plate") {
                answer.margins.push_back(marginRow(limit, {}, Curve{plate.timeS, plate.plateC}, {}));
                continue;
            }
            auto curve = [&](size_t level) {
                const Prediction& prediction = answer.predictions[level];
                return Curve{prediction.timeS, prediction.find(limit.station)->valueC};
            };
            answer.margins.push_back(marginRow(limit, curve(0), curve(1), curve(2)));
        }
        sortWorstFirst(answer.margins);
        answer.worstMargin = worstOfLimits(answer.margins);
        return answer;
    }

    const BenchSheet& sheet_;
    std::vector<Limit> limits_;
    HeatAim aim_;
    UnitResponse response_;
    StripDraw draw_;
    std::vector<Aim> aims_;
    std::array<double, Shape::count> low_{}, high_{};
    std::vector<double> curves_, timeS_, residue_;
    size_t residueSamples_ = 0;
    double residueOffS_ = 0;
};

} // namespace

Answer searchShape(const BenchSheet& sheet)
{
    return Search(sheet).run();
}

} // namespace stripwright
