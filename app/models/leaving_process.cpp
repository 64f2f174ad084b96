#include "models/leaving_process.h"

#include <set>

namespace stripwright {

namespace {

// A QProcess that is destroyed kills its process. Those still alive when this program ends are never
// destroyed.
std::set<QProcess*>& leaving()
{
    static auto* const processes = new std::set<QProcess*>;
    return *processes;
}

} // namespace

QProcess* leaveToEnd(std::unique_ptr<QProcess> process, std::shared_ptr<void> kept)
{
    if (!process)
        return nullptr;
    QProcess* const one = process.release();
    if (one->state() == QProcess::NotRunning) {
        one->deleteLater(); // This may be in its own signal.
        return nullptr;
    }
    one->setParent(nullptr);
    one->disconnect();
    leaving().insert(one);
    one->closeWriteChannel();
    QObject::connect(one, &QProcess::readyReadStandardOutput, one, [one] { one->readAllStandardOutput(); });
    QObject::connect(one, &QProcess::readyReadStandardError, one, [one] { one->readAllStandardError(); });
    QObject::connect(one, &QProcess::stateChanged, one,
                     [one, kept = std::move(kept)](QProcess::ProcessState state) {
                         if (state != QProcess::NotRunning || leaving().erase(one) == 0)
                             return;
                         one->deleteLater();
                     });
    one->terminate();
    return one;
}

} // namespace stripwright
