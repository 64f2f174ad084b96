#pragma once

#include "models/plate_draft.h"

#include <QWidget>

class QCheckBox;
class QComboBox;
class QLabel;
class QSpinBox;

namespace stripwright {

class FigureField;
class MessageLine;

/// Where a quantity stands: table and address, with the number a manual would give it, the device if it is
/// another one, and, where that must be said, how it is coded and what one count of it is worth.
class RegisterRow : public QWidget {
    Q_OBJECT
public:
    enum class Asks { Place, Coding, CodingAndScale };
    struct Of {
        QString name; ///< For screen readers and messages.
        RegisterDraft start;
        QStringList tables; ///< It may stand in.
        Asks asks = Asks::Place;
        QString scaleUnit;                       ///< Of what one count is worth.
        bool optional = true, mayBeOpen = false; ///< Can be left out; its coding can be left to be found out.
    };
    explicit RegisterRow(const Of& of, QWidget* parent = nullptr);

    void show(const RegisterDraft& draft); ///< Says nothing.
    RegisterDraft value() const;           ///< Without an address when left out.
    bool used() const;
    QString problem() const; ///< Of what is typed; empty: none.

signals:
    void changed();

private:
    void decide();
    void setCoding(const QString& coding);

    const Of of_;
    QCheckBox* used_ = nullptr;
    QComboBox *table_, *coding_;
    QSpinBox *address_, *unit_;
    FigureField* scale_;
    QWidget* codingLine_;
    QLabel *number_, *oneCount_;
    MessageLine* message_;
};

} // namespace stripwright
