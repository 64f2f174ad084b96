#include "commissioning/candidate_table.h"

#include "link/register_codec.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>

namespace stripwright {

static constexpr double nearPlateK = 5, coldestC = 0, warmestC = 60;
static constexpr double leastMoveK = 0.3, noises = 3, fallenBack = 0.5;
static constexpr size_t lastSamples = 10, edgeSamples = 5;
static constexpr double tiniestRaw = 1e-6; // 0, or a float put together from the wrong halves
static constexpr long commonNoSensor[] = {-32768, 32767, 65535, -9999, 9999};

template <class Iterator> static double mean(Iterator from, Iterator to)
{
    return std::accumulate(from, to, 0.0) / static_cast<double>(to - from);
}

CandidateTable::CandidateTable(const std::vector<RegisterField>& candidates, const ColdPlate& cold)
    : cold_(cold), courses_(candidates.size())
{
    for (const RegisterField& field : candidates)
        rows_.push_back({.field = field});
    forgetAlike();
}

void CandidateTable::forgetAlike()
{
    alike_.clear();
    for (size_t i = 0; i < rows_.size(); ++i)
        alike_.emplace_back(i, true);
}

void CandidateTable::compareWithEarlier()
{
    for (size_t i = 0; i < rows_.size(); ++i) {
        rows_[i].likeEarlier = false;
        for (size_t earlier = 0; earlier < i; ++earlier) {
            alike_[i][earlier] = alike_[i][earlier] && rows_[i].readsC == rows_[earlier].readsC;
            rows_[i].likeEarlier |= alike_[i][earlier] && rows_[i].sensible && rows_[earlier].sensible;
        }
    }
}

bool CandidateTable::meansNoSensor(const CandidateRow& row) const
{
    const double raw = decodeRaw(row.words.data(), row.field.type, row.field.order);
    const auto is = [&](long none) { return raw == static_cast<double>(none); };
    return std::abs(raw) < tiniestRaw ||
           std::any_of(std::begin(commonNoSensor), std::end(commonNoSensor), is) ||
           std::any_of(cold_.noSensorRaw.begin(), cold_.noSensorRaw.end(), is);
}

std::string CandidateTable::judged(const CandidateRow& row) const
{
    if (!std::isfinite(row.readsC))
        return "no number";
    if (meansNoSensor(row))
        return "a value for \"no sensor\"";
    if (!(row.readsC >= coldestC && row.readsC <= warmestC))
        return "not within 0 to 60 °C";
    if (cold_.plateC && !(std::abs(row.readsC - *cold_.plateC) <= nearPlateK))
        return "more than 5 K away from the thermometer";
    return {};
}

void CandidateTable::take(const SensorWords& words)
{
    for (size_t i = 0; i < rows_.size(); ++i) {
        CandidateRow& row = rows_[i];
        Course& course = courses_[i];
        row.words = words;
        row.readsC = decodeValue(words.data(), row.field);
        if (phase_ == Phase::Cold || (phase_ == Phase::Rest && row.sensible)) {
            row.whyNot = judged(row);
            row.meansNone = !std::isfinite(row.readsC) || meansNoSensor(row);
            row.sensible = row.whyNot.empty();
        }
        if (!row.sensible || phase_ == Phase::Cold)
            continue;
        course.lastC.push_back(row.readsC);
        if (course.lastC.size() > lastSamples)
            course.lastC.erase(course.lastC.begin());
        if (phase_ == Phase::Rest) {
            course.atRestC.push_back(row.readsC);
            continue;
        }
        row.movedK = mean(course.lastC.begin(), course.lastC.end()) - row.restC;
        course.mostK = std::max(course.mostK, row.movedK);
        row.moved = row.movedK > leastMoveK && row.movedK > noises * row.noiseK &&
                    row.movedK > fallenBack * course.mostK;
    }
    compareWithEarlier();
}

void CandidateTable::beginRest()
{
    phase_ = Phase::Rest;
    courses_.assign(rows_.size(), {});
    forgetAlike();
}

void CandidateTable::endRest()
{
    phase_ = Phase::Warm;
    for (size_t i = 0; i < rows_.size(); ++i) {
        CandidateRow& row = rows_[i];
        const std::vector<double>& seenC = courses_[i].atRestC;
        if (!row.sensible || seenC.empty())
            continue;
        row.restC = mean(seenC.begin(), seenC.end());
        double squares = 0;
        for (double valueC : seenC)
            squares += (valueC - row.restC) * (valueC - row.restC);
        const double stepK = row.field.type == RegisterType::Float32 ? 0 : std::abs(row.field.scale);
        row.noiseK = std::sqrt(squares / static_cast<double>(seenC.size()) + stepK * stepK / 12);
        const auto edge = static_cast<long>(std::min(edgeSamples, seenC.size()));
        const double driftK =
            mean(seenC.end() - edge, seenC.end()) - mean(seenC.begin(), seenC.begin() + edge);
        // A steady drift makes a spread of its own, 0.29 of it: noise has to be more than that to excuse it.
        if (std::abs(driftK) > std::max({leastMoveK, stepK, noises * row.noiseK - std::abs(driftK)})) {
            row.sensible = false;
            row.drifted = true;
            row.whyNot = "moves without heat";
        }
    }
}

void CandidateTable::keepOnly(size_t index)
{
    for (size_t i = 0; i < rows_.size(); ++i)
        if (i != index && rows_[i].sensible) {
            rows_[i].sensible = false;
            rows_[i].whyNot = "did not move with the heat";
        }
}

void CandidateTable::restAgain()
{
    for (size_t i = 0; i < rows_.size(); ++i) {
        std::vector<double>& lastC = courses_[i].lastC;
        if (!lastC.empty())
            rows_[i].restC = mean(lastC.begin(), lastC.end());
        rows_[i].movedK = courses_[i].mostK = 0;
        rows_[i].moved = false;
    }
}

std::vector<size_t> CandidateTable::sensible() const
{
    std::vector<size_t> found;
    for (size_t i = 0; i < rows_.size(); ++i)
        if (rows_[i].sensible && !rows_[i].likeEarlier)
            found.push_back(i);
    return found;
}

std::vector<size_t> CandidateTable::moved() const
{
    std::vector<size_t> found;
    for (size_t i : sensible())
        if (rows_[i].moved)
            found.push_back(i);
    return found;
}

std::string CandidateTable::inWords(size_t index) const
{
    const CandidateRow& row = rows_[index];
    char text[160];
    std::snprintf(text, sizeof text, "%s reads %.4g °C", stripwright::inWords(row.field).c_str(), row.readsC);
    std::string words = text;
    if (!row.sensible)
        return words + " (" + row.whyNot + ")";
    if (phase_ == Phase::Warm) {
        std::snprintf(text, sizeof text, ", moved by %.2f K", row.movedK);
        words += text;
    }
    return words;
}

} // namespace stripwright
