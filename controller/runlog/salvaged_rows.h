#pragma once

#include "runlog/salvage.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace stripwright {

/// Copies row by row, into the empty tables of `fresh`, what can be read of a damaged log whose list of
/// tables can. Throws RunLogError if they cannot be written.
Salvaged salvageRows(SQLite::Database& damaged, SQLite::Database& fresh);

} // namespace stripwright
