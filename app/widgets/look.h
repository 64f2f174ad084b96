#pragma once

#include <QColor>
#include <QFont>
#include <QString>

class QApplication;
class QLabel;
class QWidget;

namespace stripwright {

enum class Theme { Light, Dark };

/// Every colour of the window. Colour stands for data and for what is abnormal; the rest is grey.
struct Look {
    Theme theme;
    QColor window, surface, ink, muted, line;
    QColor joint, body, lens, glue; ///< Curves and parts; the plate is drawn in ink.
    QColor abnormal, onAbnormal;    ///< Fill of what needs a response, and what is written on it.
    QColor focus;                   ///< Keyboard focus and selection.
};

const Look& look();   ///< Of the theme in force.
Theme desktopTheme(); ///< Dark if the desktop writes light on dark. Ask before useTheme().

/// Sets style, palette and style sheet of the whole application. Also stops the wheel from editing boxes that
/// have no focus, application-wide.
void useTheme(Theme theme);

namespace space {
constexpr int xs = 4, s = 8, m = 12, l = 16, xl = 24;
}
constexpr double cornerPx = 4;

enum class Type { Secondary, Base, Title, LiveValue };
QFont typeFont(Type type); ///< Sizes go by the desktop's own; live values have tabular digits.

/// A label of this type; muted ones are for what explains.
QLabel* words(const QString& text, Type type = Type::Base, bool muted = false, QWidget* parent = nullptr);

/// Length on the screen that `widget` is on [px].
int pixelsOf(double mm, const QWidget* widget);

} // namespace stripwright
