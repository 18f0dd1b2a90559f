// What patients had before: in memory, in a store, or asked of the host; and rules of a new day.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/resource.h>

#include <csignal>
#include <map>

#include "tests/adapters/plugin/plugin_host.hpp"

namespace meniscus::plugin_tests {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

/// A host with former orders by patient.
struct Records {
  std::map<std::string, std::string> lines;
  std::vector<std::string> asked;
  int answer = 0;
  std::size_t piece = 7;  // bytes written at a time
  MeniscusChecker* calls_back = nullptr;
  MeniscusStatus called_back = MENISCUS_OK;

  static int give(void* user_data, const char* patient, std::size_t size, MeniscusWriter* writer) {
    Records& self = *static_cast<Records*>(user_data);
    const std::string name(patient, size);
    self.asked.push_back(name);
    if (self.calls_back != nullptr) {
      MeniscusVerdicts* none = nullptr;
      self.called_back = meniscus_check(self.calls_back, MENISCUS_JSON, "{}", 2, &none);
    }
    std::string_view left = self.lines[name];
    while (!left.empty()) {
      const std::string_view now = left.substr(0, self.piece);
      if (meniscus_write(writer, now.data(), now.size()) != MENISCUS_OK) return 1;
      left.remove_prefix(now.size());
    }
    return self.answer;
  }
};

class History : public ::testing::Test {
 public:
  Checker checker_with(const Pairs& more) {
    Pairs all = {{"only-rules", "yes"}, {"rules", folder.write("rest.rule", kRest)}};
    all.insert(all.end(), more.begin(), more.end());
    wanted = settings(all);
    rules = load(wanted.get());
    return make_checker(rules, wanted);
  }
  Checker asking() {
    checker_with({{"on-hold", "ua"}});
    EXPECT_EQ(meniscus_settings_set_history(wanted.get(), Records::give, &records), MENISCUS_OK);
    return make_checker(rules, wanted);
  }

  const Folder folder;
  Settings wanted;
  Rules rules;
  Records records;
};

TEST_F(History, InMemoryBeginsWithTheFirstOrder) {
  const Checker checker = checker_with({});
  const std::string first = jsonl(check(checker, order("A-1", "2026-02-02")));
  EXPECT_THAT(first, HasSubstr(R"("outcome":"incomplete")")) << "what was before is not known";
  EXPECT_THAT(first, HasSubstr(R"("missing":"history before 2026-02-02")"));
  EXPECT_EQ(outcomes(check(checker, order("A-2", "2026-03-02"))), "clear");
  EXPECT_THAT(jsonl(check(checker, order("A-3", "2026-03-05"))),
              HasSubstr("The last was 3 days ago."));
}

TEST_F(History, BySomebodysWordItReachesFurther) {
  const Checker checker = checker_with({{"history-since", "2025-01-01"}});
  EXPECT_EQ(outcomes(check(checker, order("A-1", "2026-02-02"))), "clear");
}

TEST_F(History, IsOfOneCheckerAlone) {
  const Checker one = checker_with({{"history", "input"}});
  const Checker other = make_checker(rules, wanted);
  EXPECT_EQ(outcomes(check(one, order("A-1", "2026-03-02"))), "clear");
  EXPECT_EQ(outcomes(check(other, order("A-2", "2026-03-03"))), "clear");
  EXPECT_EQ(outcomes(check(one, order("A-2", "2026-03-03"))), "clarify");
}

TEST_F(History, InAStoreOutlivesTheChecker) {
  const std::string place = "sqlite:" + (folder / "history.db");
  check(checker_with({{"history", place}}), order("A-1", "2026-02-02"));
  const Checker later = checker_with({{"history", place}});
  EXPECT_EQ(outcomes(check(later, order("A-2", "2026-03-02"))), "clear");
  const std::string third = jsonl(check(later, order("A-3", "2026-03-05")));
  EXPECT_THAT(third, HasSubstr("The last was 3 days ago."));
  EXPECT_EQ(jsonl(check(later, order("A-3", "2026-03-05"))), third) << "sent again";
}

/// Files of this process may not grow: what a full disk looks like.
class FullDisk {
 public:
  FullDisk() {
    ::getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit none{1, before_.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &none);
    handler_ = std::signal(SIGXFSZ, SIG_IGN);
  }
  ~FullDisk() {
    ::setrlimit(RLIMIT_FSIZE, &before_);
    static_cast<void>(std::signal(SIGXFSZ, handler_));
  }
  FullDisk(const FullDisk&) = delete;
  FullDisk& operator=(const FullDisk&) = delete;

 private:
  rlimit before_{};
  void (*handler_)(int) = SIG_DFL;
};

TEST_F(History, WhatCannotBeKeptIsNotChecked) {
  const Checker checker = checker_with({{"history", "sqlite:" + (folder / "history.db")}});
  check(checker, order("A-1", "2026-02-02"));
  MeniscusStatus status = MENISCUS_OK;
  {
    const FullDisk full;
    EXPECT_EQ(check(checker, order("A-2", "2026-03-02"), MENISCUS_AUTO, &status), nullptr);
  }
  EXPECT_EQ(status, MENISCUS_NOT_KEPT);
  EXPECT_THAT(meniscus_checker_error(checker.get()), HasSubstr("history.db"));
  EXPECT_THAT(meniscus_checker_error(checker.get()), Not(HasSubstr("SM-0012")));
  EXPECT_EQ(outcomes(check(checker, order("A-2", "2026-03-02"))), "clear") << "sent again";
  EXPECT_EQ(outcomes(check(checker, order("A-3", "2026-03-04"))), "clarify") << "and kept once";
}

TEST_F(History, TheHostIsAskedOnceACallForEachPatient) {
  records.lines["SM-0012"] = order("A-1", "2026-02-27") + order("A-2", "2026-03-01");
  const Checker checker = asking();
  const Verdicts verdicts =
      check(checker, order("A-3", "2026-03-05") + order("B-1", "2026-03-05", "SM-0013") +
                         order("A-4", "2026-03-06"));
  EXPECT_EQ(outcomes(verdicts), "clarify clear clarify");
  EXPECT_THAT(jsonl(verdicts), HasSubstr("The last was 4 days ago."));
  EXPECT_THAT(jsonl(verdicts), HasSubstr("The last was 1 day ago.")) << "of the same call";
  EXPECT_EQ(records.asked, (std::vector<std::string>{"SM-0012", "SM-0013"}));
  EXPECT_THAT(jsonl(verdicts), HasSubstr(R"("history":"store")"));
  // The host is the only memory: of the call before nothing is left.
  EXPECT_THAT(jsonl(check(checker, order("A-5", "2026-03-07"))),
              HasSubstr("The last was 6 days ago."));
  EXPECT_EQ(records.asked.size(), 3U);
}

TEST_F(History, WhatTheHostGivesMayReachOnlySoFar) {
  checker_with({{"history-since", "2026-03-01"}});
  ASSERT_EQ(meniscus_settings_set_history(wanted.get(), Records::give, &records), MENISCUS_OK);
  const Verdicts verdicts = check(make_checker(rules, wanted), order("A-3", "2026-03-05"));
  EXPECT_THAT(jsonl(verdicts), HasSubstr(R"("missing":"history before 2026-03-01")"));
}

TEST_F(History, FormerOrdersKeepTheirDaysUnderAsOf) {
  records.lines["SM-0012"] = order("A-1", "2026-03-01");
  checker_with({{"as-of", "2026-03-20"}});
  ASSERT_EQ(meniscus_settings_set_history(wanted.get(), Records::give, &records), MENISCUS_OK);
  EXPECT_EQ(outcomes(check(make_checker(rules, wanted), order("A-3", "2026-03-05"))), "clear");
}

/// Why a host's history cannot be used.
struct Broken {
  const char* name;
  int answer;
  std::string lines;
  const char* why;
};
class HostFails : public History, public ::testing::WithParamInterface<Broken> {};

TEST_P(HostFails, AndNoOrderOfThatPatientPasses) {
  records.answer = GetParam().answer;
  records.lines["SM-0012"] = GetParam().lines;
  const Checker checker = asking();
  // The other patient's history can be had only where the host does not fail for all.
  const Verdicts verdicts =
      check(checker, order("A-3", "2026-03-05") + order("B-1", "2026-03-05", "SM-0013") +
                         R"({"order":{"id":"A-4","action":"stop"},"patient":{"id":"SM-0012"}})");
  EXPECT_EQ(outcomes(verdicts), GetParam().answer == 0 ? "hold clear hold" : "hold hold hold");
  const MeniscusVerdict* verdict = meniscus_verdicts_at(verdicts.get(), 0);
  EXPECT_STREQ(meniscus_verdict_order(verdict, nullptr), "A-3");
  EXPECT_NE(meniscus_verdict_stops(verdict), 0);
  ASSERT_EQ(meniscus_verdict_finding_count(verdict), 1U);
  const MeniscusFinding* finding = meniscus_verdict_finding(verdict, 0);
  EXPECT_STREQ(meniscus_finding_rule(finding, nullptr), "internal");
  EXPECT_THAT(meniscus_finding_say(finding, nullptr), HasSubstr(GetParam().why));
  EXPECT_THAT(meniscus_finding_say(finding, nullptr), Not(HasSubstr("SM-"))) << "no value of it";
}

INSTANTIATE_TEST_SUITE_P(
    Each, HostFails,
    ::testing::Values(Broken{"SaysSo", 1, order("A-1", "2026-03-01"), "the host could not give it"},
                      Broken{"GivesRubbish", 0, order("A-1", "2026-03-01") + "{\"order\":}\n",
                             "line 2 of what the host gave cannot be read"},
                      Broken{"GivesAnother", 0, order("A-1", "2026-03-01", "SM-0099"),
                             "line 1 of what the host gave is not of this patient"},
                      Broken{"GivesNobodys", 0, R"({"order":{"id":"A-1","placed":"2026-03-01"}})",
                             "line 1 of what the host gave is not of this patient"},
                      Broken{"GivesNoDate", 0,
                             R"({"order":{"id":"A-1"},"patient":{"id":"SM-0012"}})",
                             "line 1 of what the host gave has no order.placed"}),
    [](const auto& info) { return std::string(info.param.name); });

TEST_F(History, AMessageWhosePatientIsNotKnownIsRefused) {
  records.answer = 1;
  const Checker checker = asking();
  const std::string message = read(kFixtures / "hl7" / "f-rde-o11-testosterone.hl7");
  const Verdicts verdicts = check(checker, message);
  EXPECT_EQ(outcomes(verdicts), "hold");
  EXPECT_THAT(hl7(verdicts), HasSubstr("MSA|AR|"));
  records.answer = 0;
  EXPECT_THAT(hl7(check(checker, message)), Not(HasSubstr("MSA|AR|"))) << "sent again later";
}

TEST_F(History, ACallbackCannotCallItsChecker) {
  const Checker checker = asking();
  records.calls_back = checker.get();
  EXPECT_EQ(outcomes(check(checker, order("A-1", "2026-03-05"))), "clear");
  EXPECT_EQ(records.called_back, MENISCUS_BUSY);
  EXPECT_STREQ(meniscus_checker_error(checker.get()), "");
}

TEST_F(History, AHostThatThrowsIsAHostThatFails) {
  checker_with({});
  const auto throws = [](void*, const char*, std::size_t, MeniscusWriter*) -> int {
    throw std::runtime_error("against the contract");
  };
  ASSERT_EQ(meniscus_settings_set_history(wanted.get(), throws, nullptr), MENISCUS_OK);
  EXPECT_EQ(outcomes(check(make_checker(rules, wanted), order("A-1", "2026-03-05"))), "hold");
}

TEST_F(History, StaysWhenTheRulesChange) {
  const Checker checker = checker_with({{"history", "input"}});
  check(checker, order("A-1", "2026-03-02"));
  std::string stricter = kRest;
  stricter.replace(stricter.find("< 7 days"), 8, "< 9 days");
  const auto other = [&](const std::string& text) {
    const Settings from =
        settings({{"only-rules", "yes"}, {"rules", folder.write("b.rule", text)}});
    return load(from.get());
  };
  ASSERT_EQ(meniscus_checker_use_rules(checker.get(), other(stricter).get()), MENISCUS_OK);
  EXPECT_EQ(outcomes(check(checker, order("A-2", "2026-03-10"))), "clarify");

  std::string further = stricter;
  further.replace(further.find("14 days"), 7, "40 days");
  EXPECT_EQ(meniscus_checker_use_rules(checker.get(), other(further).get()),
            MENISCUS_LOOKS_BACK_FURTHER);
  EXPECT_THAT(meniscus_checker_error(checker.get()), HasSubstr("look back"));
  EXPECT_EQ(outcomes(check(checker, order("A-3", "2026-03-11"))), "clarify") << "the old ones stay";
}

TEST_F(History, RulesAreThoseOfTheirDay) {
  const Settings from = settings({{"only-rules", "yes"},
                                  {"rules", folder.write("rest.rule", kRest)},
                                  {"rules-as-of", "2026-03-02"},
                                  {"as-of", "2026-03-20"}});
  const Rules loaded = load(from.get());
  EXPECT_STREQ(meniscus_rules_day(loaded.get()), "2026-03-02");
  EXPECT_EQ(meniscus_rules_count(loaded.get()), 1U);
  EXPECT_THAT(meniscus_rules_hash(loaded.get()), ::testing::StartsWith("sha256:"));
}

}  // namespace
}  // namespace meniscus::plugin_tests
