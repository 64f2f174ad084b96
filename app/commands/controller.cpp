#include "commands/commands.h"

#include "commands/inputs.h"

#include <cerrno>
#include <cstring>
#include <iostream>
#include <unistd.h>

namespace stripwright {

int carryOut(const ControllerCommand& command)
{
    std::string program = binFolder() / "stripwright-controller";
    std::vector<std::string> arguments = command.arguments;
    std::vector<char*> argv = {program.data()};
    for (std::string& argument : arguments)
        argv.push_back(argument.data());
    argv.push_back(nullptr);
    execv(program.c_str(), argv.data());
    std::cerr << program << " cannot be started: " << std::strerror(errno)
              << ". It belongs beside stripwright: build or install it again\n";
    return exitInternalFailure;
}

} // namespace stripwright
