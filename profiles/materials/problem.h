#pragma once

#include <stdexcept>
#include <string>
#include <vector>

namespace stripwright {

/// One thing wrong in one file, said so that it can be mended without the code at hand.
struct Problem {
    std::string file;     ///< As the user named it.
    std::string pointer;  ///< JSON pointer (RFC 6901) of the value, or "line 3, column 7" of what is no JSON;
                          ///< empty for the whole document.
    std::string found;    ///< What stands there.
    std::string expected; ///< What would be accepted.

    std::string text() const; ///< "file: /pointer: found X, expected Y".
};

/// Adds a problem to those of one reading. After the 100th it only says, once, that there are more: a hostile
/// file has millions.
void addProblem(Problem problem, std::vector<Problem>& problems);

/// A text cut to at most `longest` bytes and "...", never inside a UTF-8 character.
std::string cut(std::string text, size_t longest);

/// Thrown when a file cannot be used. Carries every problem of the file, in document order.
class BadInput : public std::runtime_error {
public:
    explicit BadInput(std::vector<Problem> problems);
    const std::vector<Problem>& problems() const { return problems_; }

private:
    std::vector<Problem> problems_;
};

} // namespace stripwright
