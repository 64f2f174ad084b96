#pragma once

#include "models/plate_draft.h"

#include <QWidget>

class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QLabel;
class QSpinBox;

namespace stripwright {

/// Where a quantity stands: table and address, with the number a manual would give it, and what one count of
/// it is worth where that must be said.
class RegisterRow : public QWidget {
    Q_OBJECT
public:
    enum class Asks { Place, PlaceAndScale };

    /// An optional one can be left out by its box.
    RegisterRow(const QString& name, const RegisterDraft& start, Asks asks, bool optional,
                QWidget* parent = nullptr);
    RegisterDraft value() const; ///< Without an address when left out.

private:
    void show();

    RegisterDraft start_;
    QCheckBox* used_ = nullptr;
    QComboBox* table_;
    QSpinBox *address_, *unit_;
    QDoubleSpinBox* scale_ = nullptr;
    QLabel* number_;
};

} // namespace stripwright
