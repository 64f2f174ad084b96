#pragma once

#include <QListWidget>

namespace stripwright {

/// Lines of text, each wrapped to the width there is and shown whole.
class WrappedList : public QListWidget {
    Q_OBJECT
public:
    explicit WrappedList(const QString& accessibleName, QWidget* parent = nullptr);
    void setFollowsEnd(bool follows) { followsEnd_ = follows; } ///< A log's newest line stays in sight.

protected:
    void resizeEvent(QResizeEvent* event) override;

private:
    bool followsEnd_ = false;
};

} // namespace stripwright
