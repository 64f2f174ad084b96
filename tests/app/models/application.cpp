#include <QCoreApplication>
#include <QLocale>
#include <QTemporaryDir>
#include <gtest/gtest.h>

// Models need an event loop and a locale, no display.
class Application : public testing::Environment {
public:
    void SetUp() override
    {
        QLocale::setDefault(QLocale::c());
        qputenv("STRIPWRIGHT_RUNNING",
                running_.path().toLocal8Bit()); // Only controllers of these tests are found.
        static int argc = 1;
        static char name[] = "test_models";
        static char* argv[] = {name, nullptr};
        application_ = std::make_unique<QCoreApplication>(argc, argv);
    }
    void TearDown() override { application_.reset(); }

private:
    QTemporaryDir running_;
    std::unique_ptr<QCoreApplication> application_;
};

static auto* const application = testing::AddGlobalTestEnvironment(new Application);
