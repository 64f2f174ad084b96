#include "widgets/look.h"

#include <QApplication>
#include <QLocale>
#include <gtest/gtest.h>

// Widgets without a display, in one locale.
class Application : public testing::Environment {
public:
    void SetUp() override
    {
        qputenv("QT_QPA_PLATFORM", "offscreen");
        QLocale::setDefault(QLocale::c());
        static int argc = 1;
        static char name[] = "tests";
        static char* argv[] = {name, nullptr};
        application_ = std::make_unique<QApplication>(argc, argv);
        stripwright::useTheme(stripwright::Theme::Light);
    }
    void TearDown() override { application_.reset(); }

private:
    std::unique_ptr<QApplication> application_;
};

static auto* const application = testing::AddGlobalTestEnvironment(new Application);
