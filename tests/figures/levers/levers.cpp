// What a plan and its levers take, what a sink block saves and what another way of cooling does, the last two
// beside the same worked out by hand.
#include "levers.h"

#include "demo_sheet.h"

#include <chrono>
#include <cstdio>

using namespace stripwright;

int main()
{
    const auto start = std::chrono::steady_clock::now();
    const Shelf shelf = test::shippedShelf();
    BenchSheet bar3 = test::shippedSheet("marram-lane-bar-3-sac305.bench.json");
    bar3.cooling.fan = false;
    figures::printTimes(test::shippedSheet("marram-lane-bar-7.bench.json"), bar3, shelf);
    const WhatIfAnswer answer = whatIf(bar3, shelf);
    figures::printSinkBlock(bar3, answer);
    figures::printCooling(bar3, answer);
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    std::printf("\nall of this took %.0f s\n", took.count());
}
