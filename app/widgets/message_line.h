#pragma once

#include <QLabel>

namespace stripwright {

/// A message in the layout, next to what it is about. Takes no room while it has nothing to say.
class MessageLine : public QLabel {
    Q_OBJECT
public:
    enum class Tone { Plain, Abnormal };
    explicit MessageLine(QWidget* parent = nullptr);
    void say(const QString& text,
             Tone tone = Tone::Abnormal); ///< Empty text hides it. Screen readers are told.
};

} // namespace stripwright
