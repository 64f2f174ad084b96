#include "widgets/stop_button.h"

#include <QAbstractItemView>
#include <QAccessible>
#include <QApplication>
#include <QComboBox>
#include <QLineEdit>
#include <QMenu>
#include <QTest>
#include <QVBoxLayout>
#include <gtest/gtest.h>

namespace stripwright {

struct Stop : testing::Test {
    Stop()
    {
        stopPresses().add(
            &heater, [this] { return heats; }, [this] { ++stops; });
        list->addItems({"one", "two", "three"});
        auto* column = new QVBoxLayout(&window);
        for (QWidget* widget : std::initializer_list<QWidget*>{text, list, button})
            column->addWidget(widget);
        window.resize(400, 600);
        window.show();
        EXPECT_TRUE(QTest::qWaitForWindowExposed(&window));
    }
    void turn() { QTest::qWait(1); } // the next press is another one
    void openList()
    {
        list->showPopup();
        ASSERT_TRUE(QTest::qWaitForWindowExposed(list->view()->window()));
        ASSERT_EQ(QApplication::activePopupWidget(), list->view()->window());
    }
    void pressAt(QWidget* receiver, QPoint global)
    {
        QWindow* to = receiver->window()->windowHandle();
        QTest::mousePress(to, Qt::LeftButton, {}, to->mapFromGlobal(global));
    }
    QPoint middle() const { return button->mapToGlobal(button->rect().center()); }

    QWidget window;
    QLineEdit* text = new QLineEdit;
    QComboBox* list = new QComboBox;
    StopButton* button = new StopButton;
    QObject heater;
    bool heats = true;
    int stops = 0;
};

TEST_F(Stop, EscStopsOnceWhereverTheKeysGo)
{
    QTest::keyClick(window.windowHandle(), Qt::Key_Escape);
    EXPECT_EQ(stops, 1);
    turn();
    text->setFocus();
    QTest::keyClick(text, Qt::Key_Escape);
    EXPECT_EQ(stops, 2);
    turn();
    QTest::keyClick(text, Qt::Key_Escape, Qt::ShiftModifier | Qt::ControlModifier);
    EXPECT_EQ(stops, 3);
}

TEST_F(Stop, EscStopsWhileAListIsOpenAndStillClosesIt)
{
    openList();
    QTest::keyClick(list->view()->window()->windowHandle(), Qt::Key_Escape);
    EXPECT_EQ(stops, 1);
    EXPECT_FALSE(list->view()->isVisible());
}

TEST_F(Stop, EscStopsWhileAMenuIsOpen)
{
    QMenu menu;
    menu.addAction("something");
    menu.popup(window.mapToGlobal(QPoint(0, 0)));
    QTest::keyClick(&menu, Qt::Key_Escape);
    EXPECT_EQ(stops, 1);
}

TEST_F(Stop, EscIsLeftAloneWhileNothingHeats)
{
    heats = false;
    QTest::keyClick(window.windowHandle(), Qt::Key_Escape);
    EXPECT_EQ(stops, 0);
}

TEST_F(Stop, APressOnTheButtonStopsAtThePressAndOnlyOnce)
{
    heats = false; // a press is meant, whatever is known of the heat
    pressAt(&window, middle());
    EXPECT_EQ(stops, 1);
    QTest::mouseRelease(window.windowHandle(), Qt::LeftButton, {}, window.mapFromGlobal(middle()));
    EXPECT_EQ(stops, 1);
}

TEST_F(Stop, TwoQuickPressesAreTwoStops)
{
    QTest::mousePress(button, Qt::LeftButton);
    turn();
    QTest::mouseDClick(button, Qt::LeftButton);
    EXPECT_GE(stops, 2);
}

TEST_F(Stop, APressOnTheButtonStopsWhileAListHoldsThePointer)
{
    openList();
    pressAt(list->view(), middle());
    EXPECT_EQ(stops, 1);
}

TEST_F(Stop, APressOnAListThatCoversTheButtonIsMeantForTheList)
{
    openList();
    list->view()->window()->setGeometry(QRect(middle() - QPoint(20, 20), QSize(80, 80)));
    pressAt(list->view(), middle());
    EXPECT_EQ(stops, 0);
}

TEST_F(Stop, APressElsewhereStopsNothing)
{
    pressAt(&window, text->mapToGlobal(text->rect().center()));
    EXPECT_EQ(stops, 0);
}

TEST_F(Stop, SpaceAndAScreenReaderPressItToo)
{
    button->setFocus();
    QTest::keyClick(button, Qt::Key_Space);
    EXPECT_EQ(stops, 1);
    turn();
    auto* action = QAccessible::queryAccessibleInterface(button)->actionInterface();
    action->doAction(QAccessibleActionInterface::pressAction());
    EXPECT_TRUE(QTest::qWaitFor([&] { return stops == 2; }));
}

TEST_F(Stop, AHeaterThatIsGoneIsNotAskedAnyMore)
{
    {
        QObject other;
        stopPresses().add(
            &other, [] { return true; }, [this] { stops += 100; });
    }
    QTest::keyClick(window.windowHandle(), Qt::Key_Escape);
    EXPECT_EQ(stops, 1);
}

} // namespace stripwright
