// A host of the plug-in, as tests need one: through meniscus.h and nothing else.
#pragma once

#include <meniscus.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <memory>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "tests/support/test_folder.hpp"

namespace meniscus::plugin_tests {

template <auto Free>
struct Freed {
  template <class T>
  void operator()(T* handle) const {
    Free(handle);
  }
};
using Settings = std::unique_ptr<MeniscusSettings, Freed<meniscus_settings_free>>;
using Rules = std::unique_ptr<MeniscusRules, Freed<meniscus_rules_free>>;
using Checker = std::unique_ptr<MeniscusChecker, Freed<meniscus_checker_free>>;
using Verdicts = std::unique_ptr<MeniscusVerdicts, Freed<meniscus_verdicts_free>>;

using Pairs = std::vector<std::pair<std::string, std::string>>;

/// Settings, each of which must be taken.
inline Settings settings(const Pairs& pairs) {
  MeniscusSettings* made = nullptr;
  if (meniscus_settings_new(&made) != MENISCUS_OK) throw std::runtime_error("no settings");
  Settings all(made);
  for (const auto& [name, value] : pairs) {
    if (meniscus_settings_set(made, name.c_str(), value.c_str()) != MENISCUS_OK)
      throw std::runtime_error(meniscus_settings_error(made));
  }
  return all;
}

inline Rules load(MeniscusSettings* from) {
  MeniscusRules* rules = nullptr;
  if (meniscus_rules_load(from, &rules) != MENISCUS_OK)
    throw std::runtime_error(meniscus_settings_error(from));
  return Rules(rules);
}

inline Checker make_checker(const Rules& rules, const Settings& from) {
  MeniscusChecker* checker = nullptr;
  if (meniscus_checker_new(rules.get(), from.get(), &checker) != MENISCUS_OK)
    throw std::runtime_error(meniscus_settings_error(from.get()));
  return Checker(checker);
}

/// Null when the call fails; `status` then says how.
inline Verdicts check(const Checker& checker, std::string_view bytes, int format = MENISCUS_AUTO,
                      MeniscusStatus* status = nullptr) {
  MeniscusVerdicts* verdicts = nullptr;
  const MeniscusStatus done =
      meniscus_check(checker.get(), format, bytes.data(), bytes.size(), &verdicts);
  if (status != nullptr) *status = done;
  if ((done == MENISCUS_OK) != (verdicts != nullptr)) throw std::runtime_error("half an answer");
  return Verdicts(verdicts);
}

inline std::string jsonl(const Verdicts& verdicts) {
  std::size_t size = 0;
  const char* text = meniscus_verdicts_jsonl(verdicts.get(), &size);
  return {text, size};
}

inline std::string hl7(const Verdicts& verdicts) {
  std::size_t size = 0;
  const char* text = meniscus_verdicts_hl7(verdicts.get(), &size);
  return text == nullptr ? "(none)" : std::string(text, size);
}

inline std::string read(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file) throw std::runtime_error("cannot read " + path.string());
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// What the program writes to standard output.  `before`: variables, as a shell sets them.
inline std::string run_program(const std::string& words, const std::string& before = "") {
  const std::string command = before + " " + MENISCUS_BINARY_DIR + "/meniscus " + words;
  FILE* pipe = ::popen(command.c_str(), "r");
  if (pipe == nullptr) throw std::runtime_error("cannot run " + command);
  std::string out;
  std::string piece(4096, '\0');
  while (const std::size_t got = std::fread(piece.data(), 1, piece.size(), pipe))
    out.append(piece, 0, got);
  ::pclose(pipe);
  return out;
}

inline const std::filesystem::path kSource = MENISCUS_SOURCE_DIR;
inline const std::filesystem::path kFixtures = kSource / "tests" / "fixtures";
inline const std::string kRules = (kSource / "rules").string();

using Folder = meniscus::testing::TestFolder;

/// One rule that looks back.
inline const std::string kRest =
    "rule rest \"Let a site rest\"\n"
    "    concerns all orders\n"
    "    let here = latest earlier injection within 14 days\n"
    "    raise clarify when days since here.when < 7 days\n"
    "        say \"The last was {days since here.when} ago.\"\n"
    "        blames order.id\n";

/// One order of 50 mg.
inline std::string order(const std::string& id, const std::string& day,
                         const std::string& patient = "SM-0012") {
  return R"({"order":{"id":")" + id + R"(","placed":")" + day + R"("},"patient":{"id":")" +
         patient + R"("},"dose":"50 mg"})" + "\n";
}

/// The outcomes in words: "clear hold".
inline std::string outcomes(const Verdicts& verdicts) {
  std::string all;
  for (std::size_t i = 0; i < meniscus_verdicts_count(verdicts.get()); ++i) {
    if (i > 0) all += ' ';
    all += meniscus_outcome_name(meniscus_verdict_outcome(meniscus_verdicts_at(verdicts.get(), i)));
  }
  return all;
}

}  // namespace meniscus::plugin_tests
