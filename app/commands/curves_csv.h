#pragma once

#include "messages/messages.h"
#include "thermal/predict.h"

namespace stripwright {

// Curves as CSV: a header line, "time_s" first, then one column a station with the unit last in its name; comma
// between cells, point in numbers, whatever the locale; an empty cell where there is no value.

/// The plate's temperature from the columns time_s and plate_C; further columns are left alone, and so are rows whose
/// plate_C is empty. Throws BadInput with every problem, the pointer being "/line 7/plate_C".
PlateCurve readPlateCurve(const std::string& text, const std::string& fileName);

/// time_s, plate_C, then of every site joint_N_C, body_N_C, glue_N_C, lens_N_C as they exist, then strip_X_C.
std::string predictionCsv(const Prediction& prediction);

/// Everything that a run recorded, one row a control cycle.
std::string samplesCsv(const std::vector<Sample>& samples);

/// A number with at most this many decimals, none of them a trailing zero; "" for what is no number.
std::string shortNumber(double value, int decimals);

} // namespace stripwright
