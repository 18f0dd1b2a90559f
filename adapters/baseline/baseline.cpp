// Contract: see baseline.hpp.
#include "adapters/baseline/baseline.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <optional>
#include <system_error>
#include <utility>

#include "adapters/report/output.hpp"
#include "adapters/support/json_scan.hpp"
#include "engine/base/ascii.hpp"

namespace meniscus::adapters {

namespace {
using engine::Grade;
using Json = nlohmann::json;

constexpr std::array<std::string_view, 7> kKeys = {"file",   "rule",  "clause", "without",
                                                   "fields", "order", "grade"};
constexpr std::int64_t kMostClauses = 65535;  // FindingKey counts in 16 bits

/// One line of a baseline.
class LineReader {
 public:
  explicit LineReader(std::string_view line) : line_(line) {}

  std::optional<Baseline::Entry> read() {
    if (const auto problem = json_problem(line_)) {
      say(problem->offset, "this is no JSON: " + problem->message, "");
      return std::nullopt;
    }
    const Json root = Json::parse(line_, nullptr, false);
    if (!root.is_object()) {
      say(0, "a line of a baseline is an object", "");
      return std::nullopt;
    }
    for (const auto& [key, value] : root.items())
      member(key, value);
    for (const std::string_view key : {"file", "rule", "fields", "order", "grade"}) {
      if (!root.contains(std::string(key))) say(0, "`" + std::string(key) + "` is missing", "");
    }
    if (!problems_.empty()) return std::nullopt;
    return std::move(entry_);
  }
  [[nodiscard]] const std::vector<InputProblem>& problems() const { return problems_; }

 private:
  void say(std::size_t offset, std::string message, std::string at) {
    problems_.push_back(problem_at(line_, offset, std::move(message), std::move(at)));
  }
  void say_at(const std::string& at, std::string message) {
    say(json_offset_of(line_, at).value_or(0), std::move(message), at);
  }

  void member(const std::string& key, const Json& value) {
    const std::string at = "/" + pointer_step(key);
    if (key == "clause" || key == "without") {
      number(key == "clause" ? entry_.key.clause : entry_.key.without, value, at);
    } else if (key == "fields") {
      fields(value, at);
    } else if (std::find(kKeys.begin(), kKeys.end(), key) == kKeys.end()) {
      say_at(at, unknown_key(key, kKeys));
    } else if (!value.is_string() || value.get_ref<const std::string&>().empty()) {
      say_at(at, "text in quotes is needed");
    } else {
      text(key, value.get<std::string>(), at);
    }
  }

  void text(std::string_view key, std::string value, const std::string& at) {
    if (key == "grade") {
      const auto grade = engine::grade_named(value);
      if (!grade) return say_at(at, "`" + value + "` is no grade");
      entry_.grade = *grade;
      return;
    }
    std::string& into = key == "file"   ? entry_.key.file
                        : key == "rule" ? entry_.key.rule
                                        : entry_.key.order;
    into = std::move(value);
  }

  void number(std::uint16_t& into, const Json& value, const std::string& at) {
    if (!value.is_number_integer() || value < 1 || value > kMostClauses)
      return say_at(at, "a whole number from 1 on is needed");
    into = value.get<std::uint16_t>();
  }

  void fields(const Json& value, const std::string& at) {
    const auto is_text = [](const Json& item) { return item.is_string(); };
    if (!value.is_array() || !std::all_of(value.begin(), value.end(), is_text))
      return say_at(at, "a list of texts is needed");
    for (const Json& item : value)
      entry_.key.fields.push_back(item.get<std::string>());
  }

  std::string_view line_;
  Baseline::Entry entry_;
  std::vector<InputProblem> problems_;
};

std::string line_of(const Baseline::Entry& entry) {
  std::string line = "{\"file\":";
  append_json(line, entry.key.file);
  append_key(line, "rule", entry.key.rule);
  if (entry.key.clause != 0) line += ",\"clause\":" + std::to_string(entry.key.clause);
  if (entry.key.without != 0) line += ",\"without\":" + std::to_string(entry.key.without);
  line += ",\"fields\":[";
  const char* separator = "";
  for (const std::string& field : entry.key.fields) {
    line += separator;
    separator = ",";
    append_json(line, field);
  }
  line += ']';
  append_key(line, "order", entry.key.order);
  append_key(line, "grade", engine::name(entry.grade));
  return line + "}\n";
}

engine::Error trouble(const std::string& what) { return {engine::Errc::Input, what, 0, 0}; }
}  // namespace

bool Baseline::add(const FindingKey& key, Grade grade) {
  if (grade == Grade::Hold || !key.is_sound()) return false;
  Entry& entry = entries_.try_emplace(key.fingerprint(), Entry{key, grade}).first->second;
  entry.grade = std::max(entry.grade, grade);
  return true;
}

bool Baseline::hides(const FindingKey& key, Grade grade) const {
  if (grade == Grade::Hold || !key.is_sound()) return false;
  const auto entry = entries_.find(key.fingerprint());
  return entry != entries_.end() && grade <= entry->second.grade;
}

std::string Baseline::text() const {
  std::vector<std::string> lines;
  for (const auto& [fingerprint, entry] : entries_)
    lines.push_back(line_of(entry));
  std::sort(lines.begin(), lines.end());
  std::string text;
  for (const std::string& line : lines)
    text += line;
  return text;
}

ReadBaseline read_baseline(std::string_view text) {
  ReadBaseline read;
  for (std::uint64_t number = 1; !text.empty(); ++number) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (engine::ascii::trimmed(line).empty()) continue;
    LineReader reader(line);
    const auto entry = reader.read();
    for (InputProblem problem : reader.problems()) {
      problem.line = number;
      read.problems.push_back(std::move(problem));
    }
    if (entry && entry->grade == Grade::Hold) ++read.holds;
    if (entry) read.baseline.add(entry->key, entry->grade);
  }
  return read;
}

engine::Result<ReadBaseline> read_baseline_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::error_code problem;
  if (!in || std::filesystem::is_directory(path, problem))
    return trouble("cannot read the baseline " + path + "; --write-baseline makes one");
  const std::string text{std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
  if (in.bad()) return trouble("cannot read the baseline " + path);
  return read_baseline(text);
}

engine::Status write_baseline_file(const std::string& path, const Baseline& baseline) {
  const std::string beside = path + ".new";
  std::ofstream out(beside, std::ios::binary | std::ios::trunc);
  out << baseline.text();
  out.close();
  std::error_code problem;
  if (out) std::filesystem::rename(beside, path, problem);
  if (out && !problem) return engine::Done{};
  std::error_code ignored;
  std::filesystem::remove(beside, ignored);
  return trouble("the baseline " + path + " could not be written");
}

}  // namespace meniscus::adapters
