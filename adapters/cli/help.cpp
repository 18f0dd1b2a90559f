// Contract: see help.hpp.
#include "adapters/cli/help.hpp"

#include "adapters/report/marks.hpp"
#include "adapters/report/wrap.hpp"

namespace meniscus::adapters {

namespace {
constexpr std::string_view kProgramPage =
    R"(meniscus - reads injection orders and says, before anything is drawn up, what does not fit.

  meniscus check [FILE...]        judge orders (JSON, NDJSON, CSV, HL7 v2, FHIR)
  meniscus config                 the settings of check, and where each comes from
  meniscus serve                  judge and answer HL7 v2 messages over the network (MLLP)
  meniscus replay FILE...         what one set of rules, or two, say of past orders: a report
  meniscus replay merge PART...   the same from the parts of a run
  meniscus replay labels KEY FILE...   whether rules are right, by what readers say of drawn orders
  meniscus explain FILE...        why rules spoke about one order, or did not
  meniscus answer FILE...         keep what was answered to a question about an order
  meniscus answers FILE           the answers that are kept, and whether they are in force
  meniscus rules lint [PATH...]   find mistakes in rule files, and what is worth a second look
  meniscus rules explain-code CODE   what a code such as R0420 means, and how it is mended
  meniscus rules test [PATH...]   run the examples and tables of cases beside the rules
  meniscus rules case FILE...     a checked order as a row of a table of cases
  meniscus rules list             the rules in force
  meniscus rules show NAME        one rule: its text, settings, source and examples
  meniscus rules try FILE --on ORDERS   what a rule file would change on these orders
  meniscus rules page             all rules in words, as Markdown
  meniscus rules format PATH...   rule files in the one layout
  meniscus rules compare OLD NEW  what changed between two rule sets
  meniscus rules compile          keep the rules compiled beside them, for a quicker start
  meniscus profile lint FILE...   find mistakes in a feed profile
  meniscus profile learn FILE...  what a feed carries, as a draft profile
  meniscus history list STORE     what a history holds; export, import, merge, prune
  meniscus quarantine list FOLDER messages that could not be read; retry, discard
  meniscus baseline prune FILE --on ORDERS   take out of a baseline what no longer occurs
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
  --from FORMAT        auto (by content), json, ndjson, csv, hl7, fhir   (auto)
  --to FORMAT          text, jsonl, hl7 (acknowledgements),
                       fhir (an OperationOutcome for each order),
                       lines (file:line:column: grade: message [rule]),
                       sarif (SARIF 2.1.0), junit (JUnit XML)            (text)
  --on-hold ua|ae      with --to hl7, how an order that must not go through is answered:
                       ua: accepted, order refused; ae: application error.  No default.
  --fail-at GRADE      note, caution, incomplete, clarify, hold          (incomplete)
  --as-of DATE         judge every order as of this day, as 2026-03-02
  --rules-as-of DATE   by the rules of this day                   (--as-of, else today)
  --allow-mute-hold    let local changes hide, regrade or retire what raises a hold
  --profile FEED.json  what is particular to this feed
  --history sqlite:PATH, --history "postgresql:host=... dbname=... schema=..."
                       orders of earlier runs, to which this run adds its own; a file or a database,
                       made where there is none.  Without it the inputs are the whole history.
  --history-since DATE by your word: nothing was given before that the history does not hold, back
                       to this day
  --resend-window SECONDS
                       with --to hl7 and --history: an HL7 v2 message with the sender, control id and
                       content of one that came in this time gets the answer that that one got; the
                       same control id with other content is refused; 0: off  (3600)
  --quarantine FOLDER  with --from hl7 and --to hl7: keep messages that could not be read, until
                       `meniscus quarantine` has looked at them
  --answers FILE       answers to questions of `clarify` (see `meniscus answer`)
  --baseline FILE      with --to lines, sarif or junit, hide the known findings that FILE holds;
                       a hold is never hidden
  --write-baseline FILE   write what is found to FILE, and hide it
  --no-slips           do not look for the one change that would settle a finding
  --threads COUNT      how many at once, for large files of JSON with a record a line; the result
                       is the same                                       (up to 4)
  --no-config          take no settings from meniscus.json and the environment (meniscus config)
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

Examples:

  meniscus check monday.csv tuesday.ndjson
  meniscus check --to jsonl < orders.ndjson > verdicts.jsonl
  meniscus check messages.hl7 --to hl7 --on-hold ua
  meniscus check - --from hl7 --to hl7 --on-hold ua --history sqlite:history.db
  meniscus check bundle.json --to fhir > outcomes.ndjson
  meniscus check fixtures/*.ndjson --to sarif > orders.sarif

Local changes to the shipped rules stand in files named by --rules; every report lists them.

What stands earlier in the same run is the patients' history.  Files that cannot be read are said
and the others are still judged.
)";

constexpr std::string_view kServePage =
    R"(meniscus serve --on-hold ua|ae [options] - judge HL7 v2 messages over MLLP and answer each.

  --on-hold ua|ae      how an order that must not go through is answered:
                       ua: accepted, order refused; ae: application error.  No default.
  --listen ADDRESS:PORT   where to listen; port 0 takes a free one       (127.0.0.1:2575)
  --status ADDRESS:PORT   say over HTTP how it goes: /live, /ready, /metrics
  --tls-certificate FILE, --tls-key FILE, --tls-client-ca FILE
                       encrypt (TLS 1.2 or 1.3): the service's certificate and key, and the
                       authority whose certificates senders must show; PEM.  Needed for every
                       address that is not of this machine alone
  --plain-text-network    do without.  Only where the network itself is encrypted: others on it
                       can read the orders.
  --fail-at GRADE      note, caution, incomplete, clarify, hold: at or above it an order is not
                       accepted                                          (incomplete)
  --rules PATH         rule files or folders, beside the shipped set; may be repeated
  --only-rules         leave the shipped set out
  --rules-as-of DATE   by the rules of this day                          (today)
  --allow-mute-hold    let local changes hide, regrade or retire what raises a hold
  --profile FEED.json  what is particular to this feed
  --history sqlite:PATH, --history "postgresql:host=... dbname=... schema=..."
                       orders of earlier runs, to which the service adds its own before it
                       answers; a file that is made where there is none, or a database that
                       several services share
  --history-since DATE by your word: nothing was given before that the history does not hold, back
                       to this day
  --history-keep DAYS  drop orders of days before so many, at the start and each new day; never what
                       a rule looks back on                              (all stay)
  --answers FILE       answers to questions of the rules (`meniscus answer`); read again with them
  --resend-window SECONDS
                       with --history: a message with the sender, control id and content of one
                       that came in this time gets the answer that that one got; the same control id
                       with other content is refused; 0: off             (3600)
  --quarantine FOLDER  keep messages that could not be read, until `meniscus quarantine` has looked
                       at them
  --connections N      connections at a time; more wait                  (256)
  --in-work N          messages in work at a time; more wait             (64)
  --idle SECONDS       close a connection without messages for so long   (3600)
  --message-time SECONDS  for one message to come whole, and for its answer to be taken  (30)
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

Before it listens, the rules' own examples are run; when one fails, the service does not start.
When it listens, it writes one line to standard output: {"mllp":"127.0.0.1:2575","rules":"sha256:..."}
SIGHUP: rules, profile and certificates are read again; where one has mistakes, the former stays.
SIGTERM or SIGINT: it takes nothing more, answers what it has received, and ends with status 0.

Rules that look further back than the history reaches are not assessed, and answers say so.  Without
--history it begins anew with each start.  To begin with last year's orders: `meniscus history
import`.

Example:

  meniscus serve --listen 127.0.0.1:2575 --on-hold ua --rules our-rules --profile feed.json
)";

constexpr std::string_view kReplayPage =
    R"(meniscus replay FILE... [--against PATH] [options] - judge past orders as they came, and sum up.

  FILE                 files of orders (JSON, NDJSON, CSV, HL7 v2, FHIR; gzip and zstd too), folders
                       of such files, or - for standard input
  --rules PATH         rule files or folders, beside the shipped set; may be repeated
  --against PATH       a second set, beside the shipped set: what --rules says is `before`, what
                       this says is `after`; may be repeated
  --only-rules         leave the shipped set out of both
  --warm-up FILE       records from before the first day: history, not judged; may be repeated
  --history-since DATE by your word: nothing was given before that the files do not hold, back to
                       this day.  Without it history is known from the first record on, and a rule
                       that looks further back is not assessed.
  --report FILE.html   the whole, to read and to print: one file, without network
  --to FORMAT          text, json, jsonl, csv, sarif, junit: to standard output   (text)
  --fail-at GRADE      an order at or above it counts as stopped         (incomplete)
  --often SHARE        say which rules fire on a larger share of orders  (10%)
  --examples COUNT     orders shown of a kind                            (5)
  --seed NUMBER        which orders are drawn as examples and samples    (1)
  --sample COUNT, --labels FILE.csv
                       draw so many orders of each rule (of the second set, where there are two)
                       that it fired on and as many that it was silent about, into a table that
                       people label: yes, no or unsure to `would the rule be right to speak about
                       this order?`.  What had fired stands in FILE.csv.key, not for the readers.
  --show-patients      their ids in examples; without it they are numbered
  --from FORMAT, --profile FEED.json, --as-of DATE, --rules-as-of DATE, --answers FILE,
  --allow-mute-hold    as for `meniscus check`
  --threads COUNT      how many at once; the result is the same          (all of the machine)
  --sort               sort first, without trying to stream
  --work FOLDER        sort in this folder; a run that was stopped goes on from there when the same
                       command is given again.  It holds patients' orders until the run is done.
  --shard K/N          only the K-th of N parts of the patients; with --part
  --part FILE          keep what was found for `meniscus replay merge`, in place of a summary.  It
                       names patients: treat it as you treat the orders.

Every order is judged on what had been received before it.  Files whose records are not in the order
of receipt are sorted first, in a temporary folder ($TMPDIR) that holds patients' orders and is
removed at the end.  A record that comes again unchanged is counted and not judged twice.

Examples:

  meniscus replay 2025/ --report 2025.html
  meniscus replay 2025/*.ndjson.gz --warm-up 2024/ --against new-limits.rule --report limits.html
  meniscus replay 2025/ --shard 1/2 --part 1.json; meniscus replay 2025/ --shard 2/2 --part 2.json
  meniscus replay merge 1.json 2.json --report 2025.html
  meniscus replay labels sample.csv.key reader-1.csv reader-2.csv --report 2025.html

Exit status: 0 done; 1 with --against, when the two sets differ in some order; 2 some input could
not be read; 3 bad usage, configuration or rules; 4 internal error.

This shows what rules would have said.  It does not replace the judgement of licensed staff, and a
clear order is not an approval.
)";

constexpr std::string_view kExplainPage =
    R"(meniscus explain FILE... --order ID [options] - why rules spoke about an order, or did not.

  FILE                 files of orders, in order; - is standard input
  --order ID           the order to explain; what stands before it is its patient's history
  --rule NAME          one rule at length: also why it had nothing to say
  --rules PATH         rule files or folders, beside the shipped set; may be repeated
  --only-rules         leave the shipped set out
  --from FORMAT        auto (by content), json, ndjson, csv, hl7, fhir   (auto)
  --as-of DATE         judge as of this day, as 2026-03-02
  --profile FEED.json  what is particular to this feed
  --answers FILE       answers to questions of `clarify` (see `meniscus answer`)
  --history STORE, --history-since DATE
                       as for `meniscus check`: what was kept of the patient counts too; nothing is
                       added to it
  --no-config          changes nothing: meniscus.json and the environment never count here
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

Of each rule that spoke or could not be assessed: the conditions that decided, where they stand in
the rule, the values on their sides and where those stand in the file, and the smallest change of
one value that was found to turn the answer round.  A change is tried by judging the order again; it
says what the rule would do, not what is right for the patient.

Example:

  meniscus explain orders.ndjson --order A-102 --rule needle-length

Exit status: 0 the order was found and explained, whatever its outcome; 2 a file could not be read;
3 no order or rule of that name, or other bad usage.
)";

constexpr std::string_view kAnswerPage =
    R"(meniscus answer FILE... --order ID --rule NAME [options] - keep what was answered to a question.

  FILE                 files of orders, in order; - is standard input
  --order ID           the order that the rule asks about
  --patient ID         instead: the answer is for every order of this patient and medicine, while
                       what the question rests on stays the same
  --rule NAME          the rule that asks (a finding of `clarify`)
  --text "..."         the answer
  --by "ROLE"          who answers, as a role: pharmacist, prescriber
  --until DATE         its last day, at most 400 days away
  --answers FILE       where answers are kept; made when it is not there, and only added to
  --rules PATH, --only-rules, --from FORMAT, --as-of DATE, --profile FEED.json, --log LEVEL
                       as for `meniscus check`: judge as you will when the answer is to hold
  --history STORE, --history-since DATE
                       as for `meniscus check`; nothing is added to it
  --no-config          changes nothing: meniscus.json and the environment never count here

The order is judged, and with the answer is kept every value that the question rests on.  With
`meniscus check --answers FILE` the question is then shown as answered and does not count, until one
of these values changes, the rule asks something else, a graver part of the rule holds or cannot be
checked, or the answer's last day is over.  Then it is open again, and the report says why.

A hold is never answered: the order has to be changed.  To take an answer back, remove its line.

The file says what orders say of patients.  Keep it as you keep orders.

Example:

  meniscus answer monday.ndjson --order A-102 --rule dose-volume-agreement --by pharmacist \
    --text "The prescriber confirmed 0.27 mL" --until 2026-06-30 --answers answers.jsonl

Exit status: 0 the answer is kept; 2 an input could not be read; 3 there is nothing to answer, or bad
usage or rules: nothing is kept.
)";

constexpr std::string_view kAnswersPage =
    R"(meniscus answers FILE [options] - the answers that are kept, and whether they are in force.

  FILE                 a file of answers, as `meniscus answer` writes it
  --on ORDERS...       files of orders: which questions the answers settle there, and which are open
                       again because a value has changed
  --rules PATH, --only-rules, --rules-as-of DATE, --from FORMAT, --as-of DATE, --profile FEED.json
                       as for `meniscus check`
  --history STORE, --history-since DATE
                       as for `meniscus check`; nothing is added to it

Example:

  meniscus answers answers.jsonl --on monday.ndjson

Exit status: 0 the list was written; 2 an input could not be read; 3 a line of the file has a
mistake (it answers nothing), or bad usage or rules.
)";

constexpr std::string_view kRulesPage =
    R"(meniscus rules lint|explain-code|test|case|list|show|try|page|format|compare|compile - look after rule files.

  meniscus rules lint [PATH...]   every mistake, with its place; exit status 3 when there is one.
                                  Without a mistake, what is worth a second look: conditions that
                                  are never or always so, gaps in tables, what nothing reads, what
                                  lacks a source, a review or an example
  meniscus rules explain-code [CODE]
                                  what a code of a message means, why it matters, an example, and
                                  how it is mended; without CODE, the list of all
  meniscus rules test [PATH...]   the examples of these files and the rows of their tables of cases
                                  (of all when none is named); exit status 1 when one fails
  meniscus rules case FILE... --order ID
                                  an order of these files, with what stands before it, as a table
                                  of cases on standard output: what it gives now is expected.  Ids
                                  are invented, dates are moved by whole weeks; who ordered it and
                                  all free texts are left out
  meniscus rules list             name, gravest grade and title of each rule
  meniscus rules show NAME        a rule in words and as written, its settings, source, owner,
                                  changes of the site and examples
  meniscus rules try PATH... --on ORDERS...
                                  what these rule files would change on the orders: how many they
                                  would speak on, how many they would stop, and some of them
  meniscus rules page             the rules in words with all that belongs to them, as Markdown
  meniscus rules format PATH...   writes these files anew in the one layout; comments and line breaks
                                  stay; - reads standard input and writes standard output; a file with
                                  mistakes is left as it is, exit status 3
  meniscus rules format --check PATH...  changes nothing; names the files that would change, and
                                  exit status 1 when there is one
  meniscus rules compare OLD NEW  what changed between two rule sets, in words; each is a file or a
                                  folder, whole in itself; exit status 1 when something did
  meniscus rules compile          writes the rules compiled, as .compiled-rules in the folder of the
                                  first --rules PATH (else of the shipped set).  A program that
                                  loads just these rules then starts in a fifth of the time.  While
                                  a file is not as it was, rules are compiled from their text
                                  as ever: forgetting this command costs time and nothing else
  meniscus rules compile --check  changes nothing; says whether that file is up to date, and why not;
                                  exit status 1 when it is not
  meniscus rules compile --remove takes it away

  PATH, --rules PATH   rule files or folders, beside the shipped set
  --only-rules         leave the shipped set out
  --rules-as-of DATE   the rules of this day, as 2026-03-02              (today)
  --allow-mute-hold    let local changes hide, regrade or retire what raises a hold
  --strict             with lint: exit status 1 when there is a warning
  --coverage           with test: list every small change of a rule that no test notices, with an
                       order that would tell where one was found
  --need N%            with test: exit status 1 when fewer than N % of all changes are noticed
  --order ID, --from FORMAT, --as-of DATE, --profile FEED.json
                       with case: as for `meniscus explain`
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

  try only:
  --on ORDERS...       files of orders; what stands earlier in them is the patients' history
  --watch              again each time that a rule file or a table beside it is saved
  --as-of DATE         judge as of this day, as 2026-03-02               (each order's own)
  --from FORMAT        auto, json, ndjson, csv, hl7, fhir                (auto)
  --profile FEED.json  what is particular to the feed

A file of your own may change the shipped rules: adjust, regrade, mute, retire, extend table, each
with a reason, a role and a last day.  docs/rule-language.md says how.

The changes that `test` tries, one at a time: of each comparison the opposite; of each limit the
limit itself on the other side (< for <=), a tenth more and a tenth less; of each clause another
grade.

Examples:

  meniscus rules test our-rules/ --coverage
  meniscus rules case orders.ndjson --order A-102 > our-rules/needle.cases.csv
  meniscus rules try our-rules/home.rule --on last-month.ndjson --watch
)";

constexpr std::string_view kProfilePage =
    R"(meniscus profile lint|learn - look after feed profiles.

  meniscus profile lint PROFILE.json...   every mistake in a profile; exit status 3 when there is one
  meniscus profile learn FILE...          reads orders and writes a draft profile to standard output:
                                          what the feed carries and what it never carries

  --from FORMAT        auto, json, ndjson, csv, hl7, fhir: of the files to learn from   (auto)

Example:

  meniscus profile learn week.hl7 > feed.json && meniscus profile lint feed.json
)";
constexpr std::string_view kHistoryPage =
    R"(meniscus history list|export|import|merge|prune - look after the history of earlier runs.

STORE is what --history of check and serve names: sqlite:PATH, or postgresql: and an address.  A file
is used by one program at a time: stop the service first.

  meniscus history list STORE             how much it holds, and since when it is whole
  meniscus history list STORE --patient ID   that patient's other ids and orders
  meniscus history export STORE           every merged id and every order as a line of JSON, orders
                                          under the id that their patient has now
  meniscus history import STORE FILE...   keep the orders of files without judging them, such as
                                          last year's
  meniscus history merge STORE FORMER PATIENT   two ids are of one patient: all orders stand under
                                          PATIENT (messages ADT^A40 do the same)
  meniscus history prune STORE            drop what is older than any rule looks back, and a month

  --history-since DATE import: by your word nothing that was ordered or given since is missing
  --from FORMAT        import: auto, json, ndjson, csv, hl7, fhir        (auto)
  --profile FEED.json  import: what is particular to the feed
  --before DATE        prune: drop what was for days before this one
  --keep DAYS          prune: keep so many days
  --rules PATH, --only-rules, --rules-as-of DATE, --allow-mute-hold
                       import, prune: as for `meniscus check`
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

A rule that looks further back than the history is whole is not assessed.  Importing into an empty
history makes it whole since the first day of what is imported; pruning, since the first day that
stays.

Example:

  meniscus history import sqlite:/var/lib/meniscus/history.db last-year.ndjson
)";

constexpr std::string_view kQuarantinePage =
    R"(meniscus quarantine list|retry|discard - messages that could not be read.

`meniscus serve --quarantine FOLDER` refuses such a message, and keeps it with the reason; so does
`meniscus check --from hl7 --to hl7 --quarantine FOLDER`.

  meniscus quarantine list FOLDER             each with its name, its day, its size and the reason
  meniscus quarantine retry FOLDER [NAME...]  read them again, say after the profile was mended: what
                                              can be read now is judged as by `meniscus check`, and
                                              leaves the folder
  meniscus quarantine discard FOLDER NAME... | --all

  --rules PATH, --only-rules, --rules-as-of DATE, --allow-mute-hold, --profile FEED.json,
  --history STORE, --history-since DATE, --fail-at GRADE
                       retry: as for `meniscus check`
  --log LEVEL          off, error, warn, info, debug: to stderr          (warn)

The sender was told that its message was refused, and may send it once more: look before you retry
with --history.
)";

constexpr std::string_view kConfigPage =
    R"(meniscus config [options of check] - the settings of `meniscus check`, and where each comes from.

A setting comes from the command line, else from a variable of the environment, else from the file
meniscus.json in the working folder or the nearest folder above it, not above one with a .git, else
it is the default.  --no-config leaves the variables and the file out.  With --to hl7 and --to fhir
nothing but the command line counts.

  in meniscus.json     in the environment
  from                 MENISCUS_FROM
  to                   MENISCUS_TO             text, jsonl, lines, sarif, junit
  fail-at              MENISCUS_FAIL_AT
  as-of                MENISCUS_AS_OF
  rules                (none)                  a list of paths
  only-rules           MENISCUS_ONLY_RULES     true or false; in the environment yes or no
  rules-as-of          MENISCUS_RULES_AS_OF
  profile              MENISCUS_PROFILE
  answers              MENISCUS_ANSWERS
  baseline             MENISCUS_BASELINE
  slips                MENISCUS_SLIPS          true or false; in the environment yes or no
  log                  MENISCUS_LOG

Paths in the file start from its folder.  What decides what is let through or kept is asked for on
the command line alone: --on-hold, --allow-mute-hold, --history, --history-since,
--write-baseline.

Example: a meniscus.json

  {"to": "lines", "fail-at": "clarify", "rules": ["rules/ours.rule"], "baseline": "known.jsonl"}
)";

constexpr std::string_view kBaselinePage =
    R"(meniscus baseline prune FILE --on ORDERS... - take out of a baseline what no longer occurs.

  FILE                 a baseline, as `meniscus check --write-baseline FILE` writes it
  --on ORDERS          the files of orders that it is for; entries of files that are not named stay
  --from FORMAT        auto (by content), json, ndjson, csv, hl7, fhir   (auto)
  --rules PATH, --only-rules, --rules-as-of DATE, --as-of DATE, --profile FEED.json
                       as in `meniscus check`; take those that the baseline was written with

Where an order cannot be read, the baseline stays as it is.

Example:

  meniscus baseline prune known.jsonl --on orders/*.ndjson --as-of 2026-03-02
)";
}  // namespace

std::string help_page(std::string_view topic) {
  if (topic == "check") return std::string(kCheckPage);
  if (topic == "serve") return std::string(kServePage);
  if (topic == "replay") return std::string(kReplayPage);
  if (topic == "explain") return std::string(kExplainPage);
  if (topic == "answer") return std::string(kAnswerPage);
  if (topic == "answers") return std::string(kAnswersPage);
  if (topic == "rules") return std::string(kRulesPage);
  if (topic == "profile") return std::string(kProfilePage);
  if (topic == "history") return std::string(kHistoryPage);
  if (topic == "quarantine") return std::string(kQuarantinePage);
  if (topic == "config") return std::string(kConfigPage);
  if (topic == "baseline") return std::string(kBaselinePage);
  std::string page(kProgramPage);
  append_wrapped(page, kCaution, 0, 0);
  return page;
}

std::string version_line() { return "meniscus " MENISCUS_VERSION "\n"; }

}  // namespace meniscus::adapters
