#pragma once

#include "commissioning/sensor_candidates.h"

namespace stripwright {

/// What a cold plate may read.
struct ColdPlate {
    std::optional<double> plateC;    ///< By a thermometer on it: readings within 5 K; else 0 to 60 °C.
    std::vector<long> noSensorRaw{}; ///< Beside the values that devices commonly give.
};

/// One way to read the sensor, and what came of it so far.
struct CandidateRow {
    RegisterField field;
    SensorWords words{};
    double readsC = 0; ///< May be no number.
    bool sensible = false;
    bool meansNone = false; ///< No number, or a value for "no sensor".
    /// An earlier one has read the same all the time, and stands for both: 23 is also 23 · 256 with its bytes
    /// swapped, in 256ths.
    bool likeEarlier = false;
    bool drifted = false;         ///< Moved at rest.
    std::string whyNot;           ///< It is not sensible.
    double restC = 0, noiseK = 0; ///< At rest; noise: standard deviation, with that of the steps.
    double movedK = 0;            ///< Since rest, over the last 2 s.
    bool moved = false; ///< By more than 0.3 K and three times its noise, and it has not fallen back.
};

/// Every candidate with its readings: at first sensible or not by each reading alone; during rest one that
/// was not sensible once is out for good, as is one that moves without heat; then how far each one moved.
class CandidateTable {
public:
    CandidateTable(const std::vector<RegisterField>& candidates, const ColdPlate& cold);

    void take(const SensorWords& words); ///< Every 0.2 s.
    void beginRest();
    void endRest();
    void keepOnly(size_t index); ///< The others are out: the sensor is known.
    void restAgain();            ///< What is read now counts as rest.

    const std::vector<CandidateRow>& rows() const { return rows_; }
    std::vector<size_t> sensible() const;
    std::vector<size_t> moved() const;       ///< Sensible ones only.
    std::string inWords(size_t index) const; ///< "int16 x 0.1 reads 24.8 °C, moved by 0.6 K".

private:
    enum class Phase { Cold, Rest, Warm };
    struct Course {
        std::vector<double> atRestC, lastC; // lastC: 2 s
        double mostK = 0;
    };
    bool meansNoSensor(const CandidateRow& row) const;
    void forgetAlike();
    void compareWithEarlier();
    std::string judged(const CandidateRow& row) const;

    ColdPlate cold_;
    Phase phase_ = Phase::Cold;
    std::vector<CandidateRow> rows_;
    std::vector<Course> courses_;
    std::vector<std::vector<bool>> alike_; // row i with each one before it
};

} // namespace stripwright
