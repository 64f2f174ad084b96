#include "commands/command_line.h"

#include <iostream>

using namespace stripwright;

static int carryOut(const WindowCommand&)
{
    std::cerr << "stripwright: there is no window in this build\n";
    return exitInternalFailure;
}

int main(int argc, char** argv)
{
    const auto asked = parseCommandLine(argc, argv);
    if (const int* code = std::get_if<int>(&asked))
        return *code;
    try {
        return std::visit([](const auto& command) { return carryOut(command); }, std::get<AnyCommand>(asked));
    } catch (...) {
        return exitCodeOfCurrentException();
    }
}
