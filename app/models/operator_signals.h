#pragma once

#include <QObject>
#include <QSocketNotifier>

#include <array>
#include <csignal>

namespace stripwright {

/// Ctrl+C, Ctrl+\, Ctrl+Z, a hang-up or a polite kill as a Qt signal instead of sudden death or standing
/// still, for as long as it lives: a heat cannot be paused, it is stopped. A hang-up that was ignored before
/// stays so. One at a time.
class OperatorSignals : public QObject {
    Q_OBJECT
public:
    static constexpr std::array numbers{SIGINT, SIGTERM, SIGHUP, SIGQUIT, SIGTSTP};

    explicit OperatorSignals(QObject* parent = nullptr);
    ~OperatorSignals() override;

    int last() const { return last_; } ///< Which one came last; 0: none yet.

signals:
    void stop();

private:
    int ends_[2] = {-1, -1}, last_ = 0;
    QSocketNotifier* notifier_ = nullptr;
    std::array<struct sigaction, numbers.size()> before_{};
};

} // namespace stripwright
