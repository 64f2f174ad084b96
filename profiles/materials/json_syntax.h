#pragma once

#include "materials/problem.h"

#include <string>

namespace stripwright {

/// What breaks the JSON (RFC 8259) of a text that a parser has refused, in the words of who typed it: a comma
/// too many, a comment, a key without quotes, ... Its pointer is "line N, column M", both from 1, columns in
/// characters.
Problem syntaxProblem(const std::string& text, const std::string& file);

} // namespace stripwright
