#pragma once

namespace stripwright {

struct PidGains {
    double kPerK = 0;             ///< Duty per kelvin of error.
    double tiS = 0, tdS = 0;      ///< Integral and derivative time; tdS 0: no derivative.
    double setpointWeight = 1;    ///< b: share of the reference in the proportional term.
    double derivativeFilter = 10; ///< N: the derivative is filtered with tdS / N, 8 to 20.
};

/// PID on a temperature error with two degrees of freedom; the output is heater duty, 0 to 1.
///
///     v = K (b r − y) + I + D + feed-forward,   u = v clipped to 0 ... 1
///     D = Td/(Td + N h) D − K Td N/(Td + N h) (y − y_old)
///     I grows by (K h/Ti)(r − y) + (h/Tt)(u − v),   Tt = sqrt(Ti Td), without derivative Ti
///
/// The derivative acts on the measurement, so a step of the reference gives no kick; while u is clipped, the
/// last term draws the integral back (Åström & Hägglund, Advanced PID Control, 2006, ch. 3 and 13). h is the
/// time since the last step, clipped to 0.5 ... 2 periods; after more than 3 periods D is forgotten and one
/// step of the integral left out.
class Pid {
public:
    Pid(const PidGains& gains, double periodS);
    /// `atItsMost`: the actuator gives all it can for now, so that the integral must not grow.
    double step(double referenceC, double measuredC, double feedForward, double dtS, bool atItsMost = false);

    /// Sets the integral so that the next step with the same inputs gives this duty: no jump on taking over.
    void takeOver(double duty, double referenceC, double measuredC, double feedForward);

    double unclipped() const { return v_; } ///< v of the last step.

private:
    PidGains gains_;
    double periodS_;
    double i_ = 0, d_ = 0, v_ = 0, lastC_ = 0;
    bool haveLast_ = false;
};

} // namespace stripwright
