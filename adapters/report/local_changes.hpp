// What reports say about the changes that a site makes to the rules, and about rules on trial.
#pragma once

#include <span>
#include <string>

#include "engine/program/program.hpp"

namespace meniscus::adapters {

/// `mute site-rest: Local protocol 14 (clinical lead, until 2026-12-31)`.
std::string change_sentence(const engine::LocalChange& change);
/// `Local protocol 14 (clinical lead, until 2026-12-31)`.
std::string change_reason(const engine::LocalChange& change);

/// Appends those in force and, under a head of their own, those that have ended; nothing where
/// there are none.  Trials in force are left out.
void append_changes(std::string& out, std::span<const engine::LocalChange> changes);

/// Appends `,"changes":[...]`, or nothing where there are none.
void append_changes_json(std::string& out, std::span<const engine::LocalChange> changes);

/// Appends `"muted":[...]` and, where a trial rule found something, `,"trial":[...]`.
void append_hidden_json(std::string& out, const engine::Verdict& verdict);

}  // namespace meniscus::adapters
