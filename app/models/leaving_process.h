#pragma once

#include <QProcess>

#include <memory>

namespace stripwright {

/// Asks a process to end and lets it take the time it needs, longer than this program if need be: never kills
/// it, never waits. What it still says is read and thrown away, so that no full pipe holds it up. `kept`, its
/// folder for instance, goes when it has ended. Returns the process, nothing if it has ended already; it
/// deletes itself.
QProcess* leaveToEnd(std::unique_ptr<QProcess> process, std::shared_ptr<void> kept = {});

} // namespace stripwright
