#include "planner/shape_search.h"

#include <nlopt.hpp>

#include <algorithm>
#include <cmath>
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

/// One number to climb: the worst margin of the limits first, broken habits at half weight, and a little of the mean, so
/// that margins that are not the worst still count when the worst cannot be improved.
class Score {
public:
    void add(const Limit& limit, double normalisedMargin)
    {
        constexpr double enough = 1.0, hopeless = -20.0;
        const double margin = std::clamp(normalisedMargin, hopeless, enough);
        if (limit.habit)
            brokenHabits_ += std::min(0.0, std::max(margin, -2.0));
        else
            worst_ = std::min(worst_, margin);
        sum_ += std::max(margin, -2.0);
        ++count_;
    }
    double value() const { return std::min(worst_, 1.0) + 0.5 * brokenHabits_ + 0.02 * sum_ / std::max(1, count_); }

private:
    double worst_ = std::numeric_limits<double>::infinity(), brokenHabits_ = 0, sum_ = 0;
    int count_ = 0;
};

class Search {
public:
    explicit Search(const BenchSheet& sheet)
        : sheet_(sheet), limits_(limitsOf(sheet)),
          response_(sheet, watchedStations(limits_), searchStepS, horizonS, typicalStripC(sheet))
    {
        for (const Limit& limit : limits_) {
            const auto& names = response_.stations();
            const auto found = std::find(names.begin(), names.end(), limit.station);
            stationOf_.push_back(found - names.begin());
        }
    }

    Answer run()
    {
        setBounds();
        std::array<double, Shape::count> best = firstGuess().values();
        Answer answer;
        // Each round searches with the residue of the one before; two corrections leave tenths of a kelvin.
        struct Round { int evaluations; double reach; };
        for (const Round round : {Round{500, 0.25}, Round{250, 0.06}, Round{150, 0.02}}) {
            climb(best, round.evaluations, round.reach);
            Answer next = wholeModel(Shape::from(best));
            correctBy(next);
            if (answer.margins.empty() || score(next) > score(answer))
                answer = std::move(next);
        }
        return answer;
    }

private:
    static double typicalStripC(const BenchSheet& sheet)
    {
        return 0.6 * sheet.paste.alloy.liquidusC + 0.4 * sheet.air.ambientC;
    }

    static std::vector<std::string> watchedStations(const std::vector<Limit>& limits)
    {
        std::vector<std::string> names;
        for (const Limit& limit : limits)
            if (limit.station != "plate" && std::find(names.begin(), names.end(), limit.station) == names.end())
                names.push_back(limit.station);
        return names;
    }

    // Gains of target joints, over targets: { lowest, mean }.
    std::pair<double, double> gains() const
    {
        double lowest = 1, sum = 0;
        int count = 0;
        for (size_t s = 0; s < response_.stations().size(); ++s) {
            if (response_.stations()[s].rfind("joint_", 0) != 0)
                continue;
            for (size_t level = 0; level < contactLevels.size(); ++level) {
                const double gain = response_.gain(level * response_.stations().size() + s);
                lowest = std::min(lowest, gain);
                sum += gain;
                ++count;
            }
        }
        return {std::max(0.05, lowest), count ? std::max(0.05, sum / count) : 1};
    }

    double plateFor(double jointC, double gain) const
    {
        return sheet_.air.ambientC + (jointC - sheet_.air.ambientC) / gain;
    }

    double peakAimC() const
    {
        double aim = sheet_.paste.alloy.liquidusC + 25;
        if (sheet_.heat != HeatKind::Remove && sheet_.paste.peakC.min && sheet_.paste.peakC.max)
            aim = (*sheet_.paste.peakC.min + *sheet_.paste.peakC.max) / 2;
        for (const Limit& limit : limits_)
            if (limit.metric == Metric::Peak && limit.min)
                aim = std::max(aim, *limit.min);
        return aim;
    }

    Shape firstGuess() const
    {
        const auto [lowest, mean] = gains();
        const double lowC = sheet_.paste.soakBandC.min.value_or(sheet_.paste.alloy.solidusC - 30);
        const double highC = sheet_.paste.soakBandC.max.value_or(sheet_.paste.alloy.solidusC);
        Shape shape;
        const double strongest = strongestRampCPerS(sheet_.plate, response_.draw(), plateFor(lowC, mean), sheet_.air.ambientC);
        shape.soakRampCPerS = std::clamp(strongest, 0.1, 0.6 * sheet_.paste.rampCPerS.max.value_or(2.0));
        shape.soakStartC = plateFor(lowC + 0.1 * (highC - lowC), lowest);
        shape.soakEndC = plateFor(highC - 0.1 * (highC - lowC), mean);
        shape.soakS = 0.7 * (sheet_.paste.soakTimeS.min.value_or(30) + sheet_.paste.soakTimeS.max.value_or(60)) / 2;
        shape.peakRampCPerS = shape.soakRampCPerS;
        shape.peakC = std::min(plateFor(peakAimC(), mean), sheet_.plate.maxC);
        shape.holdS = 3;
        return shape;
    }

    void setBounds()
    {
        const double ambient = sheet_.air.ambientC, hottest = sheet_.plate.maxC;
        low_ = {0.05, ambient + 5, 0, ambient + 5, 0.05, ambient + 20, 0};
        high_ = {4, hottest, 400, hottest, 4, hottest, 120};
    }

    double judge(const Shape& shape)
    {
        const PlateReference reference =
            followShape(shape, sheet_.plate, response_.draw(), sheet_.air.ambientC, sheet_.cooling.fan, searchStepS, horizonS);
        response_.curves(reference.plateC, sheet_.air.ambientC, curves_);
        const size_t samples = reference.plateC.size();
        addResidue(reference.heaterOffS, samples);
        timeS_.resize(samples);
        for (size_t i = 0; i < samples; ++i)
            timeS_[i] = i * searchStepS;

        Score score;
        const size_t stations = response_.stations().size();
        for (size_t l = 0; l < limits_.size(); ++l) {
            double worst = std::numeric_limits<double>::infinity();
            if (limits_[l].station == "plate") {
                worst = marginOf(limits_[l], measure(limits_[l], {timeS_, reference.plateC}));
            } else {
                for (size_t level = 0; level < contactLevels.size(); ++level) {
                    const double* values = &curves_[(level * stations + stationOf_[l]) * samples];
                    worst = std::min(worst, marginOf(limits_[l], measure(limits_[l], {timeS_, {values, samples}})));
                }
            }
            score.add(limits_[l], worst / limits_[l].halfWindow());
        }
        return score.value();
    }

    double score(const Answer& answer) const
    {
        Score score;
        for (const MarginRow& row : answer.margins)
            score.add(row.limit, row.normalisedMargin);
        return score.value();
    }

    // Residue of the whole model over superposition, kept by time from heater-off: that is where fan, lift and the
    // fourth power of radiation make themselves felt, and what moves when a shape is stretched.
    void addResidue(double heaterOffS, size_t samples)
    {
        if (residue_.empty())
            return;
        const long shift = std::lround((heaterOffS - residueOffS_) / searchStepS);
        const size_t columns = response_.columns();
        for (size_t column = 0; column < columns; ++column)
            for (size_t i = 0; i < samples; ++i) {
                const long from = std::clamp<long>(static_cast<long>(i) - shift, 0, static_cast<long>(residueSamples_) - 1);
                curves_[column * samples + i] += residue_[column * residueSamples_ + from];
            }
    }

    void correctBy(const Answer& answer)
    {
        const PlateReference coarse =
            followShape(answer.shape, sheet_.plate, response_.draw(), sheet_.air.ambientC, sheet_.cooling.fan, searchStepS, horizonS);
        response_.curves(coarse.plateC, sheet_.air.ambientC, curves_);
        residueSamples_ = coarse.plateC.size();
        residueOffS_ = coarse.heaterOffS;
        residue_.assign(curves_.size(), 0);
        const size_t stations = response_.stations().size();
        for (size_t level = 0; level < contactLevels.size(); ++level)
            for (size_t s = 0; s < stations; ++s) {
                const std::vector<double>& whole = answer.predictions[level].find(response_.stations()[s])->valueC;
                for (size_t i = 0; i < residueSamples_; ++i) {
                    const size_t at = std::min(whole.size() - 1, static_cast<size_t>(std::lround(i * searchStepS)));
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

    // Moment from which every target joint, at every contact, is below the sheet's lifting temperature for good.
    std::optional<double> liftMoment(const std::array<Prediction, 3>& predictions) const
    {
        if (!sheet_.cooling.liftBelowC)
            return {};
        double moment = 0;
        for (const Prediction& prediction : predictions)
            for (int site : sheet_.targets()) {
                const StationCurve* joint = prediction.find("joint_" + std::to_string(site));
                const auto fall = lastFallThrough({prediction.timeS, joint->valueC}, *sheet_.cooling.liftBelowC);
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
            followShape(shape, sheet_.plate, response_.draw(), sheet_.air.ambientC, sheet_.cooling.fan, 1, horizonS);
        PlateCurve plate;
        plate.plateC = answer.reference.plateC;
        for (size_t i = 0; i < plate.plateC.size(); ++i)
            plate.timeS.push_back(static_cast<double>(i));
        PredictOptions options;
        options.stepS = 1;
        if (sheet_.cooling.fan)
            options.fanFromS = answer.reference.heaterOffS;
        auto predictAll = [&] {
            for (size_t level = 0; level < contactLevels.size(); ++level) {
                options.contact = contactLevels[level];
                answer.predictions[level] = predict(sheet_, plate, options);
            }
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
    UnitResponse response_;
    std::vector<size_t> stationOf_;
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
