#include "commands/commands.h"

#include "materials/output_file.h"
#include "materials/problem.h"
#include "runlog/run_log.h"

#include <iostream>

namespace stripwright {

int withOutputWritten(int code)
{
    std::cout.flush();
    if (std::cout)
        return code;
    std::cerr
        << "Standard output cannot be written: its disk is full, or who read it has gone. The answer is "
           "not whole; name a file with room\n";
    return code == exitOk || code == exitBadInput || code == exitNoPlan ? int(exitCannotWrite) : code;
}

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
