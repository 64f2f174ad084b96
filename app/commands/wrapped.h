#pragma once

#include <ostream>
#include <string>

namespace stripwright {

constexpr int narrowColumns = 80; ///< What every text fits into, but for a word that is longer.

/// Width of the terminal behind this descriptor where it is known to be wider; else narrowColumns.
int columnsOf(int descriptor);

/// Text behind `lead`, broken between words at so many columns, but not between a figure and its unit; every
/// line after the first is indented as wide as `lead`. Line breaks of `text` stay. No line break at its end.
std::string wrapped(const std::string& lead, const std::string& text, int columns = narrowColumns);

/// A path as part of such a text: it stays whole, so that it can be copied, even where it has spaces.
std::string inOnePiece(std::string path);

/// The same with a line break, as wide as `out` is.
void printWrapped(std::ostream& out, const std::string& lead, const std::string& text);

int columnsOf(const std::ostream& out); ///< Of standard output and standard error; else narrowColumns.

} // namespace stripwright
