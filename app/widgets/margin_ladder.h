#pragma once

#include <QTableView>

namespace stripwright {

class MarginTable;

/// Every limit as a rung, worst first: what it is, the value as it gets coldest, as stated and hottest, what is
/// allowed, and how much room is left, as a figure and as a bar from the edge of the limit. Broken rungs are
/// filled, with an icon and a word; those of trade habit say so.
class MarginLadder : public QTableView {
    Q_OBJECT
public:
    explicit MarginLadder(MarginTable* table, QWidget* parent = nullptr);

protected:
    void resizeEvent(QResizeEvent* event) override;
    void keyPressEvent(
        QKeyEvent* event) override; ///< Copy takes the selected rungs, or all, as tab-separated text.

private:
    void fitColumns();
    MarginTable* table_;
};

} // namespace stripwright
