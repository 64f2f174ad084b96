#pragma once

namespace stripwright {

/// Lets every fsync and fdatasync of this process that is begun within `forS` seconds from `afterS` seconds
/// on end only after that time. Called again, it says so anew, also for those that wait.
void stallDisk(double afterS, double forS);
int stalledCalls(); ///< That have met the stall so far.

} // namespace stripwright
