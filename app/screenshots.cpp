#include "app/screenshots.h"

#include "app/main_window.h"
#include "at_the_plate/at_the_plate_place.h"

#include <QApplication>
#include <QPixmap>

#include <chrono>
#include <cmath>
#include <cstdio>

namespace stripwright {

using namespace std::chrono_literals;

// What a place reads and lays out by itself is there by then.
static constexpr auto tickEvery = 100ms;
static constexpr int settledTicks = 8, runReadTicks = 15;

Screenshots::Screenshots(MainWindow& window, std::filesystem::path folder, double speed)
    : QObject(&window), window_(window), folder_(std::move(folder))
{
    std::error_code problem;
    std::filesystem::create_directories(folder_, problem);
    tick_.setInterval(tickEvery);
    connect(&tick_, &QTimer::timeout, this, &Screenshots::step);
    limit_.setSingleShot(true);
    constexpr double longestHeatS = 1800;
    limit_.setInterval(2min + std::chrono::milliseconds(std::llround(1000 * longestHeatS / speed)));
    connect(&limit_, &QTimer::timeout, this, [this] {
        fail(tr("the run on the simulated plate did not come to its end: %1").arg(window_.run().phaseText()));
    });
    // Cards that wait for the hands are confirmed here: there are none at a simulated plate.
    connect(&window_.run(), &LiveRun::statusChanged, this, [this] {
        const auto& status = window_.run().status();
        if (status && status->state == RunState::Starting && !status->card.empty())
            window_.run().confirmCard(status->card);
    });
    tick_.start();
    limit_.start();
}

void Screenshots::keep(const QString& name)
{
    const QString file = QString::fromStdString((folder_ / (name.toStdString() + ".png")).string());
    if (!window_.grab().save(file))
        fail(tr("cannot write %1").arg(file));
}

void Screenshots::fail(const QString& why)
{
    tick_.stop();
    std::fprintf(stderr, "stripwright: no screenshots: %s\n", qPrintable(why));
    QApplication::exit(1);
}

void Screenshots::step()
{
    ++settled_;
    const auto next = [&](MainWindow::Place place) {
        window_.go(place);
        ++at_;
        settled_ = 0;
    };
    const auto& status = window_.run().status();
    switch (at_) {
    case 0:
        if (settled_ > settledTicks && window_.planner().plan() && !window_.planner().busy()) {
            keep("sheet");
            next(MainWindow::HeatPath);
        }
        break;
    case 1:
        if (settled_ > settledTicks) {
            keep("heat-path");
            next(MainWindow::AtThePlate);
        }
        break;
    case 2:
        window_.atThePlate().acknowledgeCautions();
        if (window_.run().phase() == LiveRun::Phase::Failed) {
            fail(window_.run().phaseText());
        } else if (settled_ > settledTicks && window_.atThePlate().ready()) {
            keep("at-the-plate-ready");
            window_.atThePlate().start();
            ++at_;
        }
        break;
    case 3: // near the peak, where there is most to see
        if (status && status->state == RunState::Ended) {
            fail(tr("the run ended early: %1").arg(QString::fromStdString(status->outcomeText)));
        } else if (status && status->profileS > 0.88 * window_.planner().plan()->heaterOffS) {
            keep("at-the-plate");
            ++at_;
        }
        break;
    case 4:
        if (status && status->state == RunState::Ended)
            next(MainWindow::LookBack);
        break;
    case 5:
        if (settled_ > runReadTicks) {
            keep("look-back");
            next(MainWindow::ShelfRoom);
        }
        break;
    case 6:
        if (settled_ > settledTicks) {
            keep("shelf");
            tick_.stop();
            QApplication::exit(0);
        }
        break;
    }
}

} // namespace stripwright
