#include "commands/command_line.h"

#include <iostream>

using namespace stripwright;

int main(int argc, char** argv)
{
    auto parsed = parseCommandLine(argc, argv);
    if (const int* code = std::get_if<int>(&parsed))
        return *code;
    return std::visit([](const auto& command) { return carryOut(command); }, std::get<AnyCommand>(parsed));
}
