#pragma once

#include "models/plate_draft.h"

#include <QWidget>

class QComboBox;
class QLineEdit;
class QSpinBox;

namespace stripwright {

class FigureField;
class FurtherRegisters;
class LabelledRows;
class MessageLine;
class RegisterRow;

/// Where a plate is and what its manual says of it.
class PlateForm : public QWidget {
    Q_OBJECT
public:
    explicit PlateForm(QWidget* parent = nullptr);

    void show(const PlateDraft& draft); ///< Says nothing.
    PlateDraft draft() const;
    QStringList problems() const;      ///< Of what is typed.
    QStringList lineArguments() const; ///< As find takes them.
    QString lineProblem() const;       ///< Of how it is reached.
    QString name() const;

signals:
    void changed();
    void fileWanted(); ///< A link file is to be gone on from.
    void furtherOpened(QWidget* part);

private:
    void addLine();
    void addDrive();
    void addSafety();
    QStringList contradictions() const; ///< What each field may say, but not beside the others.
    void decide();
    PlateDraft::Drive drive() const;
    RegisterRow* heat() const;
    RegisterRow* addRegister(const QString& label, RegisterRow* row, const char* name);
    FigureField* addFigure(const QString& label, FigureField* field, const char* name);

    LabelledRows* rows_;
    QLineEdit *name_, *host_;
    QComboBox *kind_, *device_, *baud_, *frame_, *drive_;
    QSpinBox *port_, *unit_;
    RegisterRow *sensor_, *duty_, *output_, *setpoint_, *watchdog_, *enable_;
    FigureField *leastOn_, *off_, *watchdogTime_, *plateMax_;
    MessageLine* message_;
    FurtherRegisters* further_;
    nlohmann::json kept_;
};

} // namespace stripwright
