#include "programs/bare_plate_question.h"

#include <iostream>
#include <unistd.h>

namespace stripwright {

bool plateIsBare(const std::string& howHot, bool hasEnable, bool saidBefore)
{
    std::cerr << "The plate will be heated " << howHot
              << ". Take everything off it. It burns skin and stays hot for half an hour; mains is inside.\n"
                 "Stay with it, and be able to pull its plug. A cut-out that does not depend on this program "
                 "must be in its supply"
              << (hasEnable ? ".\n"
                            : ":\nthis link names no enable output, so a relay that sticks can only be "
                              "stopped by that cut-out or the plug.\n");
    if (saidBefore)
        return true;
    if (!isatty(STDIN_FILENO)) {
        std::cerr << "Nobody is at the terminal to say that the plate is bare: add --plate-is-bare\n";
        return false;
    }
    std::cerr << "Type bare and Enter when nothing lies on the plate: ";
    std::string answer;
    std::getline(std::cin, answer);
    if (answer == "bare")
        return true;
    std::cerr << "Nothing was heated: found \"" << answer << "\", expected the word bare\n";
    return false;
}

} // namespace stripwright
