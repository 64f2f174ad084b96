#pragma once

#include "materials/bench_sheet.h"

namespace stripwright::figures {

/// The bare strip of the sheet with its blocks and without, by hand and by the model: plate held at plateC
/// until all is settled, and rising to it.
void printFinCheck(const BenchSheet& withBlocks, double plateC);

} // namespace stripwright::figures
