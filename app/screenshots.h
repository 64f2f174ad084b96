#pragma once

#include <QObject>
#include <QTimer>

#include <filesystem>

namespace stripwright {

class MainWindow;

/// Shows the places one after the other, makes a run on the simulated plate on the way, and writes a PNG of
/// each. Ends the application with 0, or with 1 and a message on standard error.
class Screenshots : public QObject {
    Q_OBJECT
public:
    /// `speed`: of the simulated plate.
    Screenshots(MainWindow& window, std::filesystem::path folder, double speed);

private:
    void step();
    void keep(const QString& name);
    void fail(const QString& why);

    MainWindow& window_;
    std::filesystem::path folder_;
    QTimer tick_, limit_;
    int at_ = 0;
    int settled_ = 0; // ticks since the place was entered
};

} // namespace stripwright
