#include "commands/curve_png.h"

#include "messages/solder_mark_text.h"

#include <QImage>

#include <cmath>
#include <gtest/gtest.h>

using namespace stripwright;

namespace {

long pixelsLike(const QImage& image, const QColor& colour)
{
    long count = 0;
    for (int y = 0; y < image.height(); ++y)
        for (int x = 0; x < image.width(); ++x) {
            const QColor pixel = image.pixelColor(x, y);
            count += std::abs(pixel.red() - colour.red()) + std::abs(pixel.green() - colour.green()) +
                         std::abs(pixel.blue() - colour.blue()) <
                     30;
        }
    return count;
}

std::vector<Sample> heat(bool withJoint)
{
    std::vector<Sample> samples;
    for (int i = 0; i <= 1500; ++i) {
        const double seconds = i * 0.2, plateC = 23 + 200 * std::sin(M_PI * seconds / 300);
        Sample sample{.seq = i + 1,
                      .timeS = seconds,
                      .profileS = seconds,
                      .referenceC = plateC + 15,
                      .expectedC = plateC};
        if (i < 700 || i > 800) // Half a minute without a reading.
            sample.sensorC = plateC;
        if (withJoint)
            sample.extra = {{"truth_joint_6_C", plateC - 10}};
        samples.push_back(sample);
    }
    return samples;
}

class CurvePng : public testing::Test {
protected:
    static void SetUpTestSuite() { static const PictureApplication application; }
    static QImage drawn(const std::vector<Sample>& samples, const std::vector<Event>& events = {})
    {
        HeatPlan plan;
        plan.sheet.title = "Marram Lane, bar 7";
        plan.sheet.paste.countLiquidusC = 138;
        return QImage::fromData(QByteArray::fromStdString(curvePng(plan, samples, events)), "PNG");
    }
};

} // namespace

TEST_F(CurvePng, ShowsTheJointInItsColourOnlyIfOneWasRecorded)
{
    const QImage with = drawn(heat(true)), without = drawn(heat(false));
    ASSERT_EQ(with.size(), QSize(1600, 900));
    EXPECT_GT(pixelsLike(with, QColor("#0072B2")), 2000);
    EXPECT_EQ(pixelsLike(without, QColor("#0072B2")), 0);
}

TEST_F(CurvePng, DoesNotBridgeTimeWithoutAReading)
{
    const QImage image = drawn(heat(false));
    // The plate's solid ink line, looked for along the column in the middle of the gap; the plan's dashes are
    // grey.
    const auto inkAt = [&](double seconds) {
        long count = 0;
        const int x = static_cast<int>(90 + 1290 * seconds / 300);
        for (int y = 100; y < 800; ++y)
            for (int dx = -3; dx <= 3; ++dx)
                count += image.pixelColor(x + dx, y).lightness() < 75;
        return count;
    };
    // The dotted liquidus line crosses both columns alike.
    EXPECT_GT(inkAt(100), inkAt(150) + 5);
}

TEST_F(CurvePng, IsAPictureEvenOfARunWithoutSamples)
{
    EXPECT_EQ(drawn({}).size(), QSize(1600, 900));
}

TEST_F(CurvePng, DrawsAMarkOfTheHandsAsATriangleFullForLiquid)
{
    const auto said = [](bool liquid) {
        char text[400];
        writeMarkText({.site = 6,
                       .liquid = liquid,
                       .beforeC = 100,
                       .afterC = 120,
                       .meltsFromC = 138,
                       .meltsUpToC = 138},
                      text, sizeof text);
        return std::vector{Event{1, 60, markKind, "info", text}};
    };
    const QColor joint("#0072B2");
    const long none = pixelsLike(drawn(heat(false)), joint),
               hollow = pixelsLike(drawn(heat(false), said(false)), joint),
               full = pixelsLike(drawn(heat(false), said(true)), joint);
    EXPECT_GT(hollow, none + 20);
    EXPECT_GT(full, hollow + 20);
}
