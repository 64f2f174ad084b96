#include "commands/commands.h"

#include "commands/inputs.h"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <iostream>
#include <unistd.h>

namespace stripwright {

std::vector<std::string> argumentsOf(const ControllerCommand& command, const std::filesystem::path& userShelf)
{
    std::vector<std::string> arguments = command.arguments;
    const bool saysShelf = std::any_of(arguments.begin(), arguments.end(), [](const std::string& one) {
        return one == "--shelf" || one.starts_with("--shelf=");
    });
    if (arguments.at(0) == "tune" && !saysShelf)
        arguments.insert(arguments.begin() + 1, {"--shelf", userShelf.string()});
    return arguments;
}

int carryOut(const ControllerCommand& command)
{
    std::string program = binFolder() / "stripwright-controller";
    std::vector<std::string> arguments = argumentsOf(command, userShelfFolder());
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
