#include "commands/commands.h"

#include "materials/output_file.h"
#include "materials/problem.h"
#include "runlog/run_log.h"

#include <iostream>

namespace stripwright {

int exitCodeOfCurrentException()
{
    try {
        throw;
    } catch (const BadInput& bad) {
        for (const Problem& problem : bad.problems())
            std::cerr << problem.text() << '\n';
        return exitBadInput;
    } catch (const CannotWrite& failure) {
        std::cerr << failure.what() << '\n';
        return exitCannotWrite;
    } catch (const RunLogError& failure) {
        std::cerr << failure.what() << '\n';
        return exitBadInput; // Commands only read run logs; the controller writes them.
    } catch (const std::exception& failure) {
        std::cerr << "stripwright: internal failure: " << failure.what() << '\n';
        return exitInternalFailure;
    }
}

} // namespace stripwright
