// Contract: see local_changes.hpp.
#include "adapters/report/local_changes.hpp"

#include <string_view>

#include "adapters/report/output.hpp"
#include "adapters/report/wrap.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::adapters {

namespace {
using engine::ChangeKind;
using engine::Hidden;
using engine::LocalChange;

void append_some(std::string& out, std::string_view head, std::span<const LocalChange> changes,
                 bool over) {
  bool first = true;
  for (const LocalChange& change : changes) {
    if (change.over != over || (change.kind == ChangeKind::Trial && !over)) continue;
    if (first) out += head;
    first = false;
    out += "  ";
    append_wrapped(out, change_sentence(change), 2, 4);
  }
}

void append_until(std::string& out, const LocalChange& change) {
  if (change.until) append_key(out, "until", engine::format_day(*change.until));
}

void append_hidden(std::string& out, const Hidden& hidden) {
  out += "{\"rule\":";
  append_json(out, hidden.rule);
  out += ",\"grade\":\"";
  out += engine::name(hidden.grade);
  out += '"';
  append_key(out, "say", hidden.say);
}
}  // namespace

std::string change_reason(const LocalChange& change) {
  std::string text = change.because + " (";
  if (!change.by.empty()) text += change.by;
  if (change.until) {
    if (!change.by.empty()) text += ", ";
    text += (change.over ? "ended " : "until ") + engine::format_day(*change.until);
  }
  return text + ")";
}

std::string change_sentence(const LocalChange& change) {
  std::string text = change.what + ": " + change_reason(change);
  if (!change.note.empty()) text += "; " + change.note;
  return text;
}

void append_changes(std::string& out, std::span<const LocalChange> changes) {
  append_some(out, "Local changes to the rules:\n", changes, false);
  append_some(out, "Local changes that have ended and change nothing any more:\n", changes, true);
}

void append_changes_json(std::string& out, std::span<const LocalChange> changes) {
  if (changes.empty()) return;
  const char* separator = ",\"changes\":[";
  for (const LocalChange& change : changes) {
    out += separator;
    separator = ",";
    out += "{\"kind\":";
    append_json(out, engine::name(change.kind));
    append_key(out, "name", change.target);
    append_key(out, "what", change.what);
    append_key(out, "reason", change.because);
    append_key(out, "by", change.by);
    append_until(out, change);
    if (!change.note.empty()) append_key(out, "note", change.note);
    out += change.over ? ",\"ended\":true}" : ",\"ended\":false}";
  }
  out += ']';
}

void append_hidden_json(std::string& out, const engine::Verdict& verdict) {
  out += "\"muted\":[";
  const char* separator = "";
  for (const Hidden& hidden : verdict.muted) {
    out += separator;
    separator = ",";
    append_hidden(out, hidden);
    append_key(out, "reason", hidden.change->because);
    append_key(out, "by", hidden.change->by);
    append_until(out, *hidden.change);
    out += '}';
  }
  out += ']';
  if (verdict.trial.empty()) return;
  separator = ",\"trial\":[";
  for (const Hidden& hidden : verdict.trial) {
    out += separator;
    separator = ",";
    append_hidden(out, hidden);
    out += '}';
  }
  out += ']';
}

}  // namespace meniscus::adapters
