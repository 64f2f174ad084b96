#pragma once

#include "models/quantity.h"

#include <QLineEdit>

#include <optional>

namespace stripwright {

/// One figure as text, with its unit inside: what was typed stays as it is, never rounded. An optional one
/// may be empty.
class FigureField : public QLineEdit {
    Q_OBJECT
public:
    struct Of {
        QString name; ///< For screen readers and messages.
        QString unit;
        double min = 0, max = 0;
        bool optional = false;
        Fahrenheit fahrenheit = Fahrenheit::Converted;
    };
    explicit FigureField(const Of& of, QWidget* parent = nullptr);

    void show(std::optional<double> value); ///< Says nothing.
    std::optional<double> value() const;    ///< None: empty, or no such figure.
    QString problem() const;                ///< What was found and expected; empty: none.

signals:
    void changed();

private:
    const Of of_;
};

} // namespace stripwright
