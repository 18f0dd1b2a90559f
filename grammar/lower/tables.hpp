// Tables of a rule set: CSV files into engine::Table, with every wrong cell reported in its place.
#pragma once

#include <string>
#include <vector>

#include "grammar/lower/sha256.hpp"
#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

/// Declares and reads all tables of all files, builds the vocabularies, and replaces synonyms in
/// columns of words by the word they stand for.  The tables' names and texts go into `hash`.
void load_tables(Workspace& workspace, Sha256& hash);

/// Rows of one table that no look-up can tell apart: reported once for each table and row.
/// Call when all look-ups are known.
void check_keys(Workspace& workspace);

}  // namespace meniscus::grammar
