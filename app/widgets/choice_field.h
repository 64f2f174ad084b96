#pragma once

#include "widgets/arrowed_box.h"

namespace stripwright {

/// A list one can type into: typing finds entries by any part of their name. Text that names no entry is not
/// accepted; the last choice stays.
class ChoiceField : public ArrowedBox {
    Q_OBJECT
public:
    explicit ChoiceField(const QString& accessibleName, QWidget* parent = nullptr);

    void addChoice(const QString& name, const QString& id, bool habit = false);
    void addRefused(const QString& name, const QString& why); ///< Shown, cannot be chosen; says why.
    void setChoice(const QString& id);                        ///< Says nothing.
    QString choice() const { return currentData().toString(); }

signals:
    void chosen(const QString& id); ///< By the user.

protected:
    void focusOutEvent(QFocusEvent* event) override;
};

} // namespace stripwright
