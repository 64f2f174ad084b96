#pragma once

#include "models/plate_draft.h"

#include <QWidget>

#include <vector>

class QLineEdit;
class QPushButton;
class QVBoxLayout;

namespace stripwright {

class FigureField;
class RegisterRow;

/// Registers that must stand at a value while the plate is driven, as many as there are.
class SettingRows : public QWidget {
    Q_OBJECT
public:
    explicit SettingRows(QWidget* parent = nullptr);

    void show(const std::vector<SettingDraft>& settings); ///< Says nothing.
    std::vector<SettingDraft> value() const;
    QStringList problems() const;

signals:
    void changed();

private:
    struct Row {
        QWidget* whole;
        QLineEdit* name;
        FigureField* value;
        RegisterRow* at;
        nlohmann::json kept;
    };
    void add(const SettingDraft& setting);
    void remove(const QWidget* whole);
    void decide();

    std::vector<Row> rows_;
    QVBoxLayout* column_;
    QPushButton* more_;
};

} // namespace stripwright
