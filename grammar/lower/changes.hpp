// Local changes: what a site changes in rules, settings and tables that stand in other files.
//
// Order:  read_changes() first; extend_tables() when all tables are declared; adjust_settings()
//         when all settings are; is_retired() while rules are lowered; change_rules() after them.
// Ends:   a change that ended before the rules' day is listed as over, warned of, and not looked at
//         any further, so that it cannot stop a program from being made.
#pragma once

#include <cstdint>

#include "grammar/lower/sha256.hpp"
#include "grammar/lower/workspace.hpp"

namespace meniscus::grammar {

/// Lists the changes and trials of all files in the program, and in the workspace those in force.
/// Reports ends that have passed, are too far away or are none, changes within the shipped set, and
/// two of one thing.
void read_changes(Workspace& workspace);

/// Adds the rows of `extend table` files, which go into `hash`.
void extend_tables(Workspace& workspace, Sha256& hash);

/// Gives settings their local value.
void adjust_settings(Workspace& workspace);

/// Whether a change in force retires a rule of that name.
bool is_retired(const Workspace& workspace, const Name& rule);

/// Regrades and mutes the program's rules; reports what is wrong with these and with retired ones.
void change_rules(Workspace& workspace);

/// The declaration that a change is about.  Reported: an unknown name, one of the same file.
std::optional<Declared> target_of(Workspace& workspace, const ActiveChange& change);

}  // namespace meniscus::grammar
