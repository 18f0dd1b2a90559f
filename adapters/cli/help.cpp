// Contract: see help.hpp.
#include "adapters/cli/help.hpp"

#include "adapters/report/marks.hpp"
#include "adapters/report/wrap.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::string_view kProgramPage =
    R"(meniscus - reads injection orders and says, before anything is drawn up, what does not fit.

  meniscus check [FILE...]        judge orders (JSON, NDJSON, CSV, HL7 v2)
  meniscus rules lint [PATH...]   find mistakes in rule files
  meniscus rules test [PATH...]   run the examples that stand beside the rules
  meniscus rules list             the rules in force
  meniscus rules show NAME        one rule: its text, settings, source and examples
  meniscus rules page             all rules in words, as Markdown
  meniscus profile lint FILE...   find mistakes in a feed profile
  meniscus profile learn FILE...  what a feed carries, as a draft profile
  meniscus COMMAND --help         all options of a command
  meniscus --version

Example: judge a day's orders; stop a script (exit status 1) when one of them needs a question
answered first:

  meniscus check orders.ndjson --fail-at clarify

Each order gets one outcome, from best to worst:

  [    ] clear       every rule was checked and none had anything to say
  [=   ] note        worth knowing
  [==  ] caution     read before dispensing
  [==? ] incomplete  a rule that could ask or stop could not be checked for lack of data
  [=== ] clarify     ask the prescriber first
  [====] hold        do not dispense as it stands

Exit status: 0 nothing at or above --fail-at, 1 something is, 2 some input could not be read,
3 bad usage, configuration or rules, 4 internal error; the highest that applies.

)";

constexpr std::string_view kCheckPage =
    R"(meniscus check [FILE...|-] [options] - judge orders and report a verdict for each.

  FILE                 files of orders; - is standard input, and so is no file at all
  --rules PATH         rule files or folders, beside the shipped set; may be repeated
  --only-rules         leave the shipped set out
  --from FORMAT        auto (by content), json, ndjson, csv, hl7         (auto)
  --to FORMAT          text, jsonl, hl7 (acknowledgements)               (text)
  --on-hold ua|ae      with --to hl7, how an order that must not go through is answered:
                       ua: accepted, order refused; ae: application error.  No default.
  --fail-at GRADE      note, caution, incomplete, clarify, hold          (incomplete)
  --as-of DATE         judge every order as of this day, as 2026-03-02
  --rules-as-of DATE   by the rules of this day                   (--as-of, else today)
  --allow-mute-hold    let local changes hide, regrade or retire what raises a hold
  --profile FEED.json  what is particular to this feed
  --no-slips           do not look for the one change that would settle a finding
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

Examples:

  meniscus check monday.csv tuesday.ndjson
  meniscus check --to jsonl < orders.ndjson > verdicts.jsonl
  meniscus check messages.hl7 --to hl7 --on-hold ua

Local changes to the shipped rules stand in files named by --rules; every report lists them.

What stands earlier in the same run is the patients' history.  Files that cannot be read are said
and the others are still judged.
)";

constexpr std::string_view kRulesPage =
    R"(meniscus rules lint|test|list|show|page - look after rule files.

  meniscus rules lint [PATH...]   every mistake, with its place; exit status 3 when there is one
  meniscus rules test [PATH...]   the examples of these files and the rows of their tables of cases
                                  (of all when none is named); exit status 1 when one fails
  meniscus rules list             name, gravest grade and title of each rule
  meniscus rules show NAME        a rule's text, settings, source, owner and examples
  meniscus rules page             the rules in words with all that belongs to them, as Markdown

  PATH, --rules PATH   rule files or folders, beside the shipped set
  --only-rules         leave the shipped set out
  --rules-as-of DATE   the rules of this day, as 2026-03-02              (today)
  --allow-mute-hold    let local changes hide, regrade or retire what raises a hold
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

A file of your own may change the shipped rules: adjust, regrade, mute, retire, extend table, each
with a reason, a role and a last day.  docs/rule-language.md says how.

Example:

  meniscus rules test our-rules/
)";

constexpr std::string_view kProfilePage =
    R"(meniscus profile lint|learn - look after feed profiles.

  meniscus profile lint PROFILE.json...   every mistake in a profile; exit status 3 when there is one
  meniscus profile learn FILE...          reads orders and writes a draft profile to standard output:
                                          what the feed carries and what it never carries

  --from FORMAT        auto, json, ndjson, csv, hl7: of the files to learn from   (auto)

Example:

  meniscus profile learn week.hl7 > feed.json && meniscus profile lint feed.json
)";
}  // namespace

std::string help_page(std::string_view topic) {
  if (topic == "check") return std::string(kCheckPage);
  if (topic == "rules") return std::string(kRulesPage);
  if (topic == "profile") return std::string(kProfilePage);
  std::string page(kProgramPage);
  append_wrapped(page, kCaution, 0, 0);
  return page;
}

std::string version_line() { return "meniscus " MENISCUS_VERSION "\n"; }

}  // namespace meniscus::adapters
