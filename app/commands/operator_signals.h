#pragma once

#include <QObject>
#include <QSocketNotifier>

namespace stripwright {

/// Ctrl+C, Ctrl+Z, Ctrl+\, a hang-up or a polite kill as a Qt signal instead of sudden death or standstill,
/// for as long as it lives. One at a time.
class OperatorSignals : public QObject {
    Q_OBJECT
public:
    explicit OperatorSignals(QObject* parent = nullptr);
    ~OperatorSignals() override;

signals:
    void stop();

private:
    int ends_[2] = {-1, -1};
    QSocketNotifier* notifier_ = nullptr;
};

} // namespace stripwright
