// Contract: see burden.hpp.
#include "tests/year/burden.hpp"

#include <algorithm>
#include <cstring>
#include <set>
#include <unordered_map>
#include <utility>

#include "adapters/input/open_orders.hpp"
#include "adapters/profile/profile.hpp"
#include "engine/eval/checker.hpp"
#include "engine/quantity/calendar.hpp"

namespace meniscus::year {

namespace {
using engine::Finding;
using engine::Grade;
using engine::Outcome;
using engine::Verdict;

constexpr std::size_t kRemarksMost = 400;

/// The defects of the orders that were read and not yet judged.
using Key = std::unordered_map<std::string, int>;

/// A year as the bytes of an input.
class YearBytes : public engine::ByteSource {
 public:
  YearBytes(const YearOptions& options, Key& key) : year_(options), key_(key) {}

  engine::Result<std::size_t> read(char* into, std::size_t size) override {
    if (position_ == line_.text.size()) {
      if (!year_.next(line_)) return std::size_t{0};
      position_ = 0;
      if (line_.judged) key_.emplace(line_.id, line_.defect);
    }
    const std::size_t count = std::min(size, line_.text.size() - position_);
    std::memcpy(into, line_.text.data() + position_, count);
    position_ += count;
    return count;
  }

 private:
  Year year_;
  Key& key_;
  Line line_;
  std::size_t position_ = 0;
};

bool names(std::string_view rules, std::string_view rule) {
  while (!rules.empty()) {
    const std::size_t end = std::min(rules.find(' '), rules.size());
    if (rules.substr(0, end) == rule) return true;
    rules.remove_prefix(std::min(end + 1, rules.size()));
  }
  return false;
}

std::string_view first_word(std::string_view text) { return text.substr(0, text.find(' ')); }

class Measurement {
 public:
  Measurement(std::shared_ptr<const engine::Program> program, const YearOptions& options,
              bool profile)
      : program_(std::move(program)), options_(options), profile_(profile) {
    burden_.defects.resize(defect_count());
  }

  Burden run() {
    const bool rich = options_.form == Form::Rich;
    engine::Feed feed;
    if (!rich && profile_) {
      adapters::ReadProfile profile = adapters::read_profile(sparse_profile(), program_.get());
      if (!profile.feed) {
        remark("the sparse profile: " + profile.problems.front().message);
        return burden_;
      }
      feed = std::move(*profile.feed);
    }
    const engine::ReadContext context{program_.get(), &feed};
    engine::Input input{"year", std::make_unique<YearBytes>(options_, key_), 0};
    auto opened = adapters::open_orders(
        std::move(input), rich ? adapters::Format::Json : adapters::Format::Hl7, context);
    if (!opened) {
      remark("the year: " + opened.error().message);
      return burden_;
    }
    judge(*opened->source, feed);
    return std::move(burden_);
  }

 private:
  void judge(engine::OrderSource& source, const engine::Feed& feed) {
    engine::CheckOptions options;
    options.today = engine::days_from_civil({2027, 3, 1});  // the orders carry their own days
    options.never_carries = feed.never_carries | source.never_carries();
    engine::Checker checker(program_, options);
    engine::History history(program_->look_back, program_->history_fields,
                            program_->history_written);
    engine::OrderBlock block;
    while (source.next(block)) {
      checker.check(block, history, [&](const Verdict& verdict) { count(verdict); });
    }
    for (const engine::NotAssessed& line : checker.never_assessed()) {
      std::string text = line.missing + ":";
      for (const std::string_view rule : line.rules)
        text.append(" ").append(rule);
      burden_.never.push_back(std::move(text));
    }
  }

  void count(const Verdict& verdict) {
    ++burden_.records;
    if (verdict.outcome == Outcome::Recorded) return;
    const auto at = key_.find(std::string(verdict.order));
    if (at == key_.end()) {
      remark("an order that the key does not have: " + std::string(verdict.order));
      return;
    }
    if (at->second == kNoDefect) {
      count_sound(verdict);
    } else {
      count_defect(verdict, static_cast<std::size_t>(at->second));
    }
    key_.erase(at);
  }

  void count_sound(const Verdict& verdict) {
    ++burden_.sound;
    ++burden_.outcomes[static_cast<std::size_t>(verdict.outcome)];
    burden_.lines += verdict.not_assessed.size();
    burden_.most_lines = std::max(burden_.most_lines, verdict.not_assessed.size());
    for (const Finding& finding : verdict.findings) {
      ++rule(finding.rule).sound[static_cast<std::size_t>(finding.grade)];
      if (finding.grade > Grade::Note) remark("right, yet", verdict, finding);
    }
    for (const engine::NotAssessed& line : verdict.not_assessed)
      if (profile_)
        remark(std::string(verdict.order) + " right, yet not assessed for " + line.missing);
  }

  void count_defect(const Verdict& verdict, std::size_t number) {
    const Defect& injected = defect(number);
    DefectCount& counted = burden_.defects[number];
    bool found = false;
    std::set<std::uint16_t> groups;
    for (const Finding& finding : verdict.findings) {
      found = found || names(injected.rules, finding.rule);
      if (finding.grade > Grade::Note) groups.insert(finding.group);
    }
    RuleCount& meant = rule(first_word(injected.rules));
    ++counted.injected;
    ++meant.injected;
    if (found) ++counted.found, ++meant.found;
    if (groups.size() <= 1) ++counted.one_group;
    const std::string name(injected.name);
    if (options_.form == Form::Sparse) return;  // most defects cannot be seen there
    if (!found) remark(std::string(verdict.order) + " not found: " + name);
    if (groups.size() <= 1) return;
    for (const Finding& finding : verdict.findings)
      if (finding.grade > Grade::Note) remark("one of several groups of " + name, verdict, finding);
  }

  RuleCount& rule(std::string_view name) {
    const auto at = burden_.rules.find(name);
    return at != burden_.rules.end() ? at->second : burden_.rules[std::string(name)];
  }

  void remark(std::string_view why, const Verdict& verdict, const Finding& finding) {
    if (burden_.remarks.size() >= kRemarksMost) return;
    std::string text(verdict.order);
    text.append(" ").append(why).append(": ").append(engine::name(finding.grade)).append(" from ");
    remark(text.append(finding.rule).append(": ").append(finding.say));
  }
  void remark(std::string text) {
    if (burden_.remarks.size() < kRemarksMost) burden_.remarks.push_back(std::move(text));
  }

  std::shared_ptr<const engine::Program> program_;
  YearOptions options_;
  bool profile_;
  Burden burden_;
  Key key_;
};

template <class Member>
std::size_t sum(const std::vector<DefectCount>& defects, Member member) {
  std::size_t total = 0;
  for (const DefectCount& counted : defects)
    total += counted.*member;
  return total;
}
}  // namespace

std::size_t Burden::grave() const { return of(Outcome::Clarify) + of(Outcome::Hold); }
std::size_t Burden::above_note() const {
  return grave() + of(Outcome::Caution) + of(Outcome::Incomplete);
}
std::size_t Burden::injected() const { return sum(defects, &DefectCount::injected); }
std::size_t Burden::found() const { return sum(defects, &DefectCount::found); }
std::size_t Burden::one_group() const { return sum(defects, &DefectCount::one_group); }

Burden measure(const std::shared_ptr<const engine::Program>& program, const YearOptions& options,
               bool profile) {
  return Measurement(program, options, profile).run();
}

Measured measure_all(const std::shared_ptr<const engine::Program>& program, YearOptions options) {
  Measured measured;
  options.form = Form::Rich;
  measured.rich = measure(program, options);
  options.form = Form::Sparse;
  measured.sparse = measure(program, options);
  measured.bare = measure(program, options, false);
  return measured;
}

}  // namespace meniscus::year
