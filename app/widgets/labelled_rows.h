#pragma once

#include <QVBoxLayout>

class QLabel;

namespace stripwright {

/// Fields one below the other, each with its label at its left. A row can go and come back, also where a
/// field is as high as its width lets it be, with which a form layout of Qt 6.4 loses rows.
class LabelledRows : public QVBoxLayout {
public:
    explicit LabelledRows(QWidget* parent = nullptr);

    void addRow(const QString& label, QWidget* field, int mostPx = QWIDGETSIZE_MAX);
    void setRowVisible(QWidget* field, bool visible);
    int labelsPx() const; ///< How wide all its labels would like to be, also of rows that are not shown.
    void setLabelsPx(int px);

private:
    QList<QLabel*> labels_;
};

} // namespace stripwright
