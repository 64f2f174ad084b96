#pragma once

#include <QListWidget>

namespace stripwright {

/// Lines of text, each wrapped to the width there is and shown whole.
class WrappedList : public QListWidget {
    Q_OBJECT
public:
    explicit WrappedList(const QString& accessibleName, QWidget* parent = nullptr);

protected:
    void resizeEvent(QResizeEvent* event) override;
};

} // namespace stripwright
