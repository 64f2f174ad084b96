#pragma once

#include <string>

namespace stripwright {

/// What the parser of a command line says of a slip ("--out: 1 required TEXT missing"), in plain words: what
/// was found, what was expected. What it says otherwise stays as it is, but for the middle of more than 500
/// bytes. `command`: "stripwright plan", whose --help tells more.
std::string usageWords(const std::string& parserSays, const std::string& command);

} // namespace stripwright
