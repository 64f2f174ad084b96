#include "cvode_network.h"

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <Eigen/SparseCore>
#include <cmath>
#include <stdexcept>
#include <string>

namespace stripwright::figures {

namespace {

void check(int flag, const char* what)
{
    if (flag < 0)
        throw std::runtime_error(std::string(what) + " failed with " + std::to_string(flag));
}

/// dT/dt = f(T) / C(T) and its derivatives, with all that does not change worked out once.
struct Equations {
    Eigen::SparseMatrix<double> conductance; // whole, with films and plate links on the diagonal; symmetric
    Eigen::ArrayXd capacity, relativeSlope, film, plateLink, radiation;
    std::vector<sunindextype> diagonalSlot;
    const PlateCurve& plate;
    double ambientC;

    Equations(const HeatNetwork& network, const PlateCurve& curve, double ambient)
        : plate(curve), ambientC(ambient)
    {
        const auto n = static_cast<Eigen::Index>(network.capacityJPerK.size());
        capacity = Eigen::Map<const Eigen::ArrayXd>(network.capacityJPerK.data(), n);
        relativeSlope = Eigen::Map<const Eigen::ArrayXd>(network.capacitySlopePerK.data(), n);
        film = plateLink = radiation = Eigen::ArrayXd::Zero(n);
        for (const auto& one : network.films)
            film[one.node] += one.wPerK;
        for (const auto& one : network.plateLinks)
            plateLink[one.node] += one.wPerK;
        for (const auto& one : network.radiators)
            radiation[one.node] += one.emissivityTimesM2 * stefanBoltzmannWPerM2K4;
        std::vector<Eigen::Triplet<double>> entries;
        for (int i = 0; i < n; ++i)
            entries.emplace_back(i, i, film[i] + plateLink[i]);
        for (const auto& link : network.links) {
            entries.emplace_back(link.a, link.a, link.wPerK);
            entries.emplace_back(link.b, link.b, link.wPerK);
            entries.emplace_back(link.a, link.b, -link.wPerK);
            entries.emplace_back(link.b, link.a, -link.wPerK);
        }
        conductance.resize(n, n);
        conductance.setFromTriplets(entries.begin(), entries.end());
        conductance.makeCompressed();
        for (int column = 0; column < n; ++column)
            for (int slot = conductance.outerIndexPtr()[column];
                 slot < conductance.outerIndexPtr()[column + 1]; ++slot)
                if (conductance.innerIndexPtr()[slot] == column)
                    diagonalSlot.push_back(slot);
    }

    void rates(double t, const double* temperatureC, double* out) const
    {
        const double plateC = plate.at(t);
        const double ambient4 = std::pow(ambientC + zeroCelsiusK, 4);
        const int* start = conductance.outerIndexPtr();
        const int* column = conductance.innerIndexPtr();
        const double* value = conductance.valuePtr();
        for (Eigen::Index i = 0; i < capacity.size(); ++i) {
            const double kelvin = temperatureC[i] + zeroCelsiusK, squared = kelvin * kelvin;
            double watts =
                film[i] * ambientC + plateLink[i] * plateC + radiation[i] * (ambient4 - squared * squared);
            for (int slot = start[i]; slot < start[i + 1]; ++slot)
                watts -= value[slot] * temperatureC[column[slot]];
            out[i] = watts / (capacity[i] * (1 + relativeSlope[i] * (temperatureC[i] - capacityStatedAtC)));
        }
    }

    void jacobian(const double* temperatureC, const double* rate, SUNMatrix matrix) const
    {
        const Eigen::Index n = capacity.size();
        sunindextype* start = SUNSparseMatrix_IndexPointers(matrix);
        sunindextype* row = SUNSparseMatrix_IndexValues(matrix);
        double* value = SUNSparseMatrix_Data(matrix);
        const Eigen::Map<const Eigen::ArrayXd> t(temperatureC, n);
        inverse_ = 1 / (capacity * (1 + relativeSlope * (t - capacityStatedAtC)));
        for (Eigen::Index i = 0; i <= n; ++i)
            start[i] = conductance.outerIndexPtr()[i];
        for (Eigen::Index slot = 0; slot < conductance.nonZeros(); ++slot) {
            row[slot] = conductance.innerIndexPtr()[slot];
            value[slot] = -conductance.valuePtr()[slot] * inverse_[row[slot]];
        }
        for (Eigen::Index i = 0; i < n; ++i) {
            const double kelvin = temperatureC[i] + zeroCelsiusK;
            value[diagonalSlot[i]] -= inverse_[i] * (4 * radiation[i] * kelvin * kelvin * kelvin +
                                                     rate[i] * capacity[i] * relativeSlope[i]);
        }
    }

private:
    mutable Eigen::ArrayXd inverse_;
};

int ratesOf(realtype t, N_Vector y, N_Vector out, void* equations)
{
    static_cast<Equations*>(equations)->rates(t, N_VGetArrayPointer(y), N_VGetArrayPointer(out));
    return 0;
}

int jacobianOf(realtype, N_Vector y, N_Vector rate, SUNMatrix matrix, void* equations, N_Vector, N_Vector,
               N_Vector)
{
    static_cast<Equations*>(equations)->jacobian(N_VGetArrayPointer(y), N_VGetArrayPointer(rate), matrix);
    return 0;
}

} // namespace

NetworkRun runCvode(const HeatNetwork& network, const PlateCurve& plate, double ambientC,
                    const CvodeOptions& options)
{
    Equations equations(network, plate, ambientC);
    const auto n = static_cast<sunindextype>(network.capacityJPerK.size());
    SUNContext context = nullptr;
    check(SUNContext_Create(nullptr, &context), "SUNContext_Create");
    N_Vector y = N_VNew_Serial(n, context);
    N_VConst(ambientC, y);
    SUNMatrix matrix = SUNSparseMatrix(n, n, equations.conductance.nonZeros(), CSC_MAT, context);
    SUNLinearSolver linear = SUNLinSol_KLU(y, matrix, context);
    check(SUNLinSol_KLUSetOrdering(linear, 0), "SUNLinSol_KLUSetOrdering"); // AMD
    void* cvode = CVodeCreate(CV_BDF, context);
    check(CVodeInit(cvode, ratesOf, 0, y), "CVodeInit");
    check(CVodeSetUserData(cvode, &equations), "CVodeSetUserData");
    check(CVodeSStolerances(cvode, 0, options.toleranceK), "CVodeSStolerances");
    check(CVodeSetLinearSolver(cvode, linear, matrix), "CVodeSetLinearSolver");
    check(CVodeSetJacFn(cvode, jacobianOf), "CVodeSetJacFn");
    check(CVodeSetMaxOrd(cvode, options.highestOrder), "CVodeSetMaxOrd");
    check(CVodeSetMaxNumSteps(cvode, 1000000), "CVodeSetMaxNumSteps");

    NetworkRun run;
    auto output = [&] {
        run.temperaturesC.emplace_back(Eigen::Map<Eigen::VectorXd>(N_VGetArrayPointer(y), n));
    };
    output();
    double t = 0;
    size_t bend = 1;
    const long outputs = std::lround(plate.timeS.back() / options.outputStepS);
    for (long i = 1; i <= outputs; ++i) {
        const double until = static_cast<double>(i) * options.outputStepS;
        if (options.bends != AtBends::RunsOver)
            check(CVodeSetStopTime(cvode, plate.timeS[bend]), "CVodeSetStopTime");
        check(CVode(cvode, until, y, &t, CV_NORMAL), "CVode");
        output();
        if (bend + 1 < plate.timeS.size() && until >= plate.timeS[bend] - 1e-9) {
            ++bend;
            if (options.bends == AtBends::StartsAnew) {
                long steps = 0;
                CVodeGetNumSteps(cvode, &steps);
                run.steps += steps;
                check(CVodeReInit(cvode, t, y), "CVodeReInit");
            }
        }
    }
    long steps = 0;
    CVodeGetNumSteps(cvode, &steps);
    run.steps += steps;
    CVodeFree(&cvode);
    SUNLinSolFree(linear);
    SUNMatDestroy(matrix);
    N_VDestroy(y);
    SUNContext_Free(&context);
    return run;
}

} // namespace stripwright::figures
