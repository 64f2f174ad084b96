#pragma once

#include "models/plate_draft.h"

#include <QWidget>

class QLabel;
class QLineEdit;
class QPushButton;
class QSpinBox;

namespace stripwright {

class FigureField;
class LabelledRows;
class MessageLine;
class RegisterRow;
class SettingRows;

/// What some plates have beside a sensor, their heat, a watchdog and an enable output. Closed until it is
/// asked for; beside its head stands what of it is in use.
class FurtherRegisters : public QWidget {
    Q_OBJECT
public:
    explicit FurtherRegisters(QWidget* parent = nullptr);

    void show(const PlateDraft& draft); ///< Its part of the draft. Says nothing.
    void fill(PlateDraft& draft) const;
    void showDrive(PlateDraft::Drive drive); ///< Only a loop of its own tells what it gives.
    QStringList problems() const;
    int labelsPx() const; ///< For what stands above to line up with.
    void setLabelsPx(int px);

signals:
    void changed();
    void opened(QWidget* part);

private:
    void decide();
    RegisterRow* addRegister(const QString& label, RegisterRow* row, const char* name);
    QWidget* bitsOf(QLineEdit*& field, const QString& what, const char* name);
    QStringList inUse() const;

    QPushButton* head_;
    QLabel* inUse_;
    QWidget* part_;
    LabelledRows* rows_;
    RegisterRow *toldDuty_, *status_, *clear_, *counter_, *fan_, *strip_;
    QLineEdit *sensorBits_, *watchdogBits_, *stripBits_;
    QWidget *bits_, *clearLine_;
    MessageLine* bitsMessage_;
    QSpinBox* clearValue_;
    FigureField *readingEvery_, *ownRamp_;
    SettingRows* settings_;
    bool bySetpoint_ = false;
};

} // namespace stripwright
