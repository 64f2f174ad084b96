// How exact the heat model is: against finite elements, by its cells and steps, and by what it does not leave
// out.
#include "heat.h"

#include <chrono>
#include <cstdio>

using namespace stripwright;

int main()
{
    const auto start = std::chrono::steady_clock::now();
    std::vector<test::FiniteElementCase> cases;
    std::vector<figures::Heat> heats;
    for (const char* name : test::finiteElementCases) {
        cases.push_back(test::finiteElementCase(name));
        heats.push_back(figures::heatOf(cases.back()));
    }
    heats.push_back(figures::demoHeat());
    figures::printAccuracy(cases);
    figures::printGrid(heats);
    figures::printCellsAgainstTruth(cases);
    figures::printLeftOut(heats);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    std::printf("\nall of this took %.0f s\n", took.count());
}
