#pragma once

#include <QComboBox>

namespace stripwright {

/// A list to choose from, with the arrow that the style sheet leaves out.
class ArrowedBox : public QComboBox {
    Q_OBJECT
public:
    using QComboBox::QComboBox;

protected:
    void paintEvent(QPaintEvent* event) override;
};

} // namespace stripwright
