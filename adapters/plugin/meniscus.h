/* Meniscus in a program of your own: orders in, verdicts out.  C99, and C++.
 *
 *   MeniscusSettings *settings = NULL;
 *   MeniscusRules *rules = NULL;
 *   MeniscusChecker *checker = NULL;
 *   MeniscusVerdicts *verdicts = NULL;
 *   if (meniscus_settings_new(&settings) == MENISCUS_OK &&
 *       meniscus_settings_set(settings, "rules", "our-rules") == MENISCUS_OK &&
 *       meniscus_rules_load(settings, &rules) == MENISCUS_OK &&
 *       meniscus_checker_new(rules, settings, &checker) == MENISCUS_OK &&
 *       meniscus_check(checker, MENISCUS_AUTO, bytes, size, &verdicts) == MENISCUS_OK) {
 *     puts(meniscus_verdicts_jsonl(verdicts, NULL));
 *   } else {
 *     // nothing was checked: no order of this call may go on as if it had been
 *   }
 *
 * Caution.  This is decision support.  It does not replace the judgement of licensed staff; local
 * law, codes and policy prevail; the shipped rules are to be reviewed and adopted by the site
 * before use; and a clear order is not an approval.
 *
 * Conventions
 *
 * Who owns what.  A function that ends in _new or _load, and meniscus_check, gives a handle through
 *   its last argument.  It is yours and goes back to the _free of its kind; when the function
 *   fails, it is NULL.  All else that a function gives (texts, verdicts, findings, fields) belongs
 *   to the handle that it was asked of, and lives until that handle is freed; error texts live
 *   until the next call with that handle.  What you hand in is not needed any more when the call
 *   returns, but for `user_data`.  A checker and verdicts need no other handle to live on.  NULL
 *   may be freed.
 * Texts.  UTF-8 that ends with a zero.  A function with a `size` argument (may be NULL) also says
 *   how many bytes stand before that zero.
 * Threads.  Different handles may be used by different threads at the same time.  Rules and
 *   verdicts never change: any number of threads may use the same ones.  Settings and a checker are
 *   used by one thread at a time; which one it is may change.  Nothing is freed while it is in use.
 *   A thread that checks has a checker of its own; checkers share rules, and nothing else.
 * Errors.  Functions that can fail give a MeniscusStatus.  Anything but MENISCUS_OK means that the
 *   call did nothing that you may build on: no order of it was checked.  NULL where a handle is
 *   needed is MENISCUS_NULL_ARGUMENT; functions that only look give 0 or an empty text for it, and
 *   the grave answer (MENISCUS_OUTCOME_HOLD, `stops`) where there is one to give.  No C++ exception
 *   leaves the library; it never ends the process, prints nothing, and writes no file but a history
 *   store.  Error texts hold no value of an order.
 * Numbers.  Enumerations are handed in as int: a number that means nothing is an error.
 * Versions.  MENISCUS_API_VERSION counts changes that break a program; it is the number in the
 *   library's SONAME.  Functions, settings, status codes and other numbers are added without a
 *   change of it: treat a number that you do not know as an error.
 */
#ifndef MENISCUS_H
#define MENISCUS_H

#include <stddef.h>
#include <stdint.h>

#define MENISCUS_API_VERSION 1

#if defined(__GNUC__)
#define MENISCUS_EXPORT __attribute__((visibility("default")))
#define MENISCUS_MUST_LOOK __attribute__((warn_unused_result))
#else
#define MENISCUS_EXPORT
#define MENISCUS_MUST_LOOK
#endif

#ifdef __cplusplus
#define MENISCUS_NOEXCEPT noexcept
extern "C" {
#else
#define MENISCUS_NOEXCEPT
#endif

/* ---- what there is ---- */

typedef struct MeniscusSettings MeniscusSettings; /* how rules are loaded and orders checked */
typedef struct MeniscusRules MeniscusRules;       /* compiled rules of one day */
typedef struct MeniscusChecker MeniscusChecker;   /* checks, and remembers what patients had */
typedef struct MeniscusVerdicts MeniscusVerdicts; /* what one call found */
typedef struct MeniscusVerdict MeniscusVerdict;   /* about one order */
typedef struct MeniscusFinding MeniscusFinding;   /* of one rule */
typedef struct MeniscusField MeniscusField;       /* that a finding blames */
typedef struct MeniscusMissing MeniscusMissing;   /* what rules lacked */
typedef struct MeniscusWriter MeniscusWriter;     /* takes what a history callback writes */

typedef enum MeniscusStatus {
  MENISCUS_OK = 0,
  MENISCUS_NULL_ARGUMENT = 1,      /* NULL where something is needed */
  MENISCUS_WRONG_SETTING = 2,      /* no such setting, or it cannot have this value */
  MENISCUS_WRONG_RULES = 3,        /* mistakes in rules, or rules that cannot be read */
  MENISCUS_WRONG_PROFILE = 4,      /* mistakes in a feed profile, or it cannot be read */
  MENISCUS_WRONG_ANSWERS = 5,      /* the same of a file of answers */
  MENISCUS_NO_HISTORY = 6,         /* the history store cannot be opened or read */
  MENISCUS_NOT_KEPT = 7,           /* orders could not be kept, so none was checked; try again */
  MENISCUS_UNKNOWN_FORMAT = 8,     /* the bytes do not say what format they are in */
  MENISCUS_LOOKS_BACK_FURTHER = 9, /* the rules need more history than this checker keeps */
  MENISCUS_BUSY = 10,              /* the checker is in use: called from its own callback */
  MENISCUS_UNUSABLE = 11,          /* the checker's history is damaged: make a new checker */
  MENISCUS_OUT_OF_MEMORY = 12,
  MENISCUS_INTERNAL = 13 /* our mistake */
} MeniscusStatus;

typedef enum MeniscusFormat {
  MENISCUS_AUTO = 0, /* by what the first bytes hold */
  MENISCUS_JSON = 1, /* one order, a list, or one order a line */
  MENISCUS_CSV = 2,
  MENISCUS_HL7 = 3, /* HL7 v2: messages, batches, MLLP frames */
  MENISCUS_FHIR = 4 /* FHIR R4 as JSON: a resource, a Bundle, a list, or one resource a line */
} MeniscusFormat;

typedef enum MeniscusGrade {
  MENISCUS_GRADE_NOTE = 1,    /* worth knowing */
  MENISCUS_GRADE_CAUTION = 2, /* read before dispensing */
  MENISCUS_GRADE_CLARIFY = 3, /* ask the prescriber first */
  MENISCUS_GRADE_HOLD = 4     /* do not dispense as it stands */
} MeniscusGrade;

/* CLEAR to HOLD, from best to worst.  Do not compare the last two: they are no judgement. */
typedef enum MeniscusOutcome {
  MENISCUS_OUTCOME_CLEAR = 0,
  MENISCUS_OUTCOME_NOTE = 1,
  MENISCUS_OUTCOME_CAUTION = 2,
  MENISCUS_OUTCOME_INCOMPLETE = 3, /* a grave rule could not be decided for lack of data */
  MENISCUS_OUTCOME_CLARIFY = 4,
  MENISCUS_OUTCOME_HOLD = 5,
  MENISCUS_OUTCOME_OUTSIDE = 6, /* no injection: not checked */
  MENISCUS_OUTCOME_RECORDED = 7 /* a given injection, a stop or a cancellation: history */
} MeniscusOutcome;

/* ---- versions and words ---- */

/* The library's version: "0.1.0". */
MENISCUS_EXPORT const char* meniscus_version(void) MENISCUS_NOEXCEPT;
/* The library's MENISCUS_API_VERSION; compare it with the header's after loading by hand. */
MENISCUS_EXPORT int meniscus_api_version(void) MENISCUS_NOEXCEPT;
/* One sentence.  For a number that means nothing, a sentence that says so. */
MENISCUS_EXPORT const char* meniscus_status_text(int status) MENISCUS_NOEXCEPT;
/* As in verdicts: "hold"; an empty text for a number that means nothing. */
MENISCUS_EXPORT const char* meniscus_grade_name(int grade) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_outcome_name(int outcome) MENISCUS_NOEXCEPT;

/* ---- settings ---- */

MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus meniscus_settings_new(MeniscusSettings** settings)
    MENISCUS_NOEXCEPT;
MENISCUS_EXPORT void meniscus_settings_free(MeniscusSettings* settings) MENISCUS_NOEXCEPT;

/* Sets one setting; `meniscus check` has the same as options.  An empty value takes it back.
 *
 *   of rules
 *     rules            PATH    a folder or a file beside the shipped rules; each call adds one
 *     only-rules       yes|no  without the shipped rules (no)
 *     shipped-rules    PATH    where they are; else $MENISCUS_RULES, else beside the library
 *     rules-as-of      DATE    rules of this day; else of `as-of`, else of today
 *     allow-mute-hold  yes|no  local changes may take away a hold (no)
 *   of a checker
 *     profile          PATH    of the feed; else strict defaults
 *     answers          PATH    to questions asked before
 *     as-of            DATE    judge all orders as of this day, instead of their own
 *     slips            yes|no  look for what may have been meant (yes)
 *     history          memory  begins with the first order checked; what was before is unknown
 *                      input   what is handed over is all there was, as in `meniscus check`
 *                      sqlite:PATH  kept in this file, over restarts; one checker has it
 *                      (memory; see also meniscus_settings_set_history)
 *     history-since    DATE    by your word, all is known since this day
 *     on-hold          ua|ae   how HL7 messages with orders that stop are answered: accepted, the
 *                      order refused (ua), or in error (ae); there is no default
 *     fail-at          GRADE   note, caution, incomplete, clarify or hold: orders at or above it
 *                      stop (incomplete)
 *
 * A DATE is 2026-03-02. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus meniscus_settings_set(
    MeniscusSettings* settings, const char* name, const char* value) MENISCUS_NOEXCEPT;

/* Asks the host what a patient had before: writes every former order, given injection, stop and
 * cancellation of this patient, oldest receipt first, as lines of JSON (docs/fields.md), each with
 * the patient's id and with order.placed, order.given or schedule.start.  Writing nothing says that
 * there was nothing.  Gives 0; anything else says that the history cannot be had, and so does a
 * line that cannot be read, has no date, or is another patient's: then the orders of this patient
 * are held by rule `internal` (HL7: AR), never clear, and the other patients' orders are checked.
 *
 * When:     in meniscus_check, on its thread, once a call for each patient, before the patient's
 *           first order is judged.  `patient` ends with a zero; `user_data` is what was set.
 * Whole:    what the host gives is taken as all there was; `history-since` says how far it reaches.
 *           Orders earlier in the same call are known; those of earlier calls only if given.
 * Must not: call with the same checker, throw, or leave by longjmp. */
typedef int (*MeniscusHistoryCallback)(void* user_data, const char* patient, size_t patient_size,
                                       MeniscusWriter* writer);

/* Takes the place of the setting `history`.  NULL takes it back.  `user_data` must live as long as
 * the checkers made with these settings; each of them may call back on its own thread. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus
meniscus_settings_set_history(MeniscusSettings* settings, MeniscusHistoryCallback callback,
                              void* user_data) MENISCUS_NOEXCEPT;

/* In a history callback: adds bytes, in pieces of any size. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus meniscus_write(MeniscusWriter* writer,
                                                                 const char* bytes,
                                                                 size_t size) MENISCUS_NOEXCEPT;

/* Why the last call with these settings failed, for people: lines with file, line, column and, for
 * rules, the place in the text.  Empty when it did not fail. */
MENISCUS_EXPORT const char* meniscus_settings_error(const MeniscusSettings* settings)
    MENISCUS_NOEXCEPT;
/* The same for programs, a JSON list; line and column are 0 where there is no place:
 *   [{"code":"R0203","severity":"error","file":"a.rule","line":2,"column":26,"message":"...",
 *     "help":"..."}]
 * Codes: of rules, docs/diagnostics.md; else "setting", "input", "profile", "answers", "history".
 */
MENISCUS_EXPORT const char* meniscus_settings_problems(const MeniscusSettings* settings)
    MENISCUS_NOEXCEPT;

/* ---- rules ---- */

/* Compiles the rules that the settings name.  WRONG_RULES: all mistakes are in the settings' error.
 * Rules are those of one day, as local changes begin and end: load them anew each day. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus
meniscus_rules_load(MeniscusSettings* settings, MeniscusRules** rules) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT void meniscus_rules_free(MeniscusRules* rules) MENISCUS_NOEXCEPT;

/* "sha256:...", as in verdicts; the day that they are those of, "2026-03-02"; how many they are. */
MENISCUS_EXPORT const char* meniscus_rules_hash(const MeniscusRules* rules) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_rules_day(const MeniscusRules* rules) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT size_t meniscus_rules_count(const MeniscusRules* rules) MENISCUS_NOEXCEPT;

/* ---- checking ---- */

/* Reads profile and answers and opens the history store; on failure the settings' error says why.
 */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus
meniscus_checker_new(const MeniscusRules* rules, MeniscusSettings* settings,
                     MeniscusChecker** checker) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT void meniscus_checker_free(MeniscusChecker* checker) MENISCUS_NOEXCEPT;

/* Other rules (of a new day) from the next call on; the profile is read again, the history stays.
 * On failure those in force stay. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus
meniscus_checker_use_rules(MeniscusChecker* checker, const MeniscusRules* rules) MENISCUS_NOEXCEPT;

/* Checks all orders in `bytes`, in order.  What cannot be read as an order is held by rule
 * `unreadable`, with its place, and the rest is checked; only bytes whose format cannot be told are
 * refused.  With a store, every order is on the disk when this returns MENISCUS_OK. */
MENISCUS_EXPORT MENISCUS_MUST_LOOK MeniscusStatus
meniscus_check(MeniscusChecker* checker, int format, const char* bytes, size_t size,
               MeniscusVerdicts** verdicts) MENISCUS_NOEXCEPT;

/* Why the last call with this checker failed; empty when it did not. */
MENISCUS_EXPORT const char* meniscus_checker_error(const MeniscusChecker* checker)
    MENISCUS_NOEXCEPT;
/* The same as a JSON list, as meniscus_settings_problems. */
MENISCUS_EXPORT const char* meniscus_checker_problems(const MeniscusChecker* checker)
    MENISCUS_NOEXCEPT;
/* What the profile and the format of the last input never carry, and the rules that are therefore
 * not assessed, or only in part, a JSON list: [{"missing":"needle.gauge","rules":["needle-thin"]}].
 * They make no order incomplete: read this once for each feed. */
MENISCUS_EXPORT const char* meniscus_checker_never_assessed(const MeniscusChecker* checker)
    MENISCUS_NOEXCEPT;

/* ---- verdicts ---- */

MENISCUS_EXPORT void meniscus_verdicts_free(MeniscusVerdicts* verdicts) MENISCUS_NOEXCEPT;

/* One line of JSON an order, byte for byte as `meniscus check --to jsonl` writes them. */
MENISCUS_EXPORT const char* meniscus_verdicts_jsonl(const MeniscusVerdicts* verdicts,
                                                    size_t* size) MENISCUS_NOEXCEPT;
/* The answers to HL7 v2 messages, as `meniscus check --to hl7` writes them, framed as the messages
 * were.  NULL where the input was not HL7 or `on-hold` is not set; empty where none is asked for.
 */
MENISCUS_EXPORT const char* meniscus_verdicts_hl7(const MeniscusVerdicts* verdicts,
                                                  size_t* size) MENISCUS_NOEXCEPT;

MENISCUS_EXPORT size_t meniscus_verdicts_count(const MeniscusVerdicts* verdicts) MENISCUS_NOEXCEPT;
/* Nonzero when an order is at or above `fail-at`, or there is no order at all. */
MENISCUS_EXPORT int meniscus_verdicts_stop(const MeniscusVerdicts* verdicts) MENISCUS_NOEXCEPT;
/* From 0, in the order of the input; NULL past the end. */
MENISCUS_EXPORT const MeniscusVerdict* meniscus_verdicts_at(const MeniscusVerdicts* verdicts,
                                                            size_t index) MENISCUS_NOEXCEPT;

/* The order's number, else its filler number; empty when it has none. */
MENISCUS_EXPORT const char* meniscus_verdict_order(const MeniscusVerdict* verdict,
                                                   size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_verdict_patient(const MeniscusVerdict* verdict,
                                                     size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT MeniscusOutcome meniscus_verdict_outcome(const MeniscusVerdict* verdict)
    MENISCUS_NOEXCEPT;
/* Nonzero when the outcome, or for OUTSIDE and RECORDED a finding, is at or above `fail-at`. */
MENISCUS_EXPORT int meniscus_verdict_stops(const MeniscusVerdict* verdict) MENISCUS_NOEXCEPT;
/* Why it is OUTSIDE or RECORDED; else empty. */
MENISCUS_EXPORT const char* meniscus_verdict_reason(const MeniscusVerdict* verdict,
                                                    size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT size_t meniscus_verdict_finding_count(const MeniscusVerdict* verdict)
    MENISCUS_NOEXCEPT;
MENISCUS_EXPORT size_t meniscus_verdict_missing_count(const MeniscusVerdict* verdict)
    MENISCUS_NOEXCEPT;

/* Gravest first; NULL past the end.  Questions that are answered and findings that are muted are in
 * the JSON alone, as are slips. */
MENISCUS_EXPORT const MeniscusFinding* meniscus_verdict_finding(const MeniscusVerdict* verdict,
                                                                size_t index) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_finding_rule(const MeniscusFinding* finding,
                                                  size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT MeniscusGrade meniscus_finding_grade(const MeniscusFinding* finding)
    MENISCUS_NOEXCEPT;
/* From 1: findings that blame the same field share it; show them together. */
MENISCUS_EXPORT unsigned meniscus_finding_group(const MeniscusFinding* finding) MENISCUS_NOEXCEPT;
/* The clause of the rule that holds, from 1; 0 for a `without` or a built-in rule. */
MENISCUS_EXPORT unsigned meniscus_finding_clause(const MeniscusFinding* finding) MENISCUS_NOEXCEPT;
/* What was found; what to ask, and the source, where there is one. */
MENISCUS_EXPORT const char* meniscus_finding_say(const MeniscusFinding* finding,
                                                 size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_finding_ask(const MeniscusFinding* finding,
                                                 size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_finding_cite(const MeniscusFinding* finding,
                                                  size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT size_t meniscus_finding_field_count(const MeniscusFinding* finding)
    MENISCUS_NOEXCEPT;

/* The fields that are to blame.  A finding without one has one entry all the same, with an empty
 * name: the place of the order.  NULL past the end. */
MENISCUS_EXPORT const MeniscusField* meniscus_finding_field(const MeniscusFinding* finding,
                                                            size_t index) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT const char* meniscus_field_name(const MeniscusField* field,
                                                size_t* size) MENISCUS_NOEXCEPT;
/* As it was written; empty where it is missing. */
MENISCUS_EXPORT const char* meniscus_field_value(const MeniscusField* field,
                                                 size_t* size) MENISCUS_NOEXCEPT;
/* JSON pointer, CSV column or HL7 path ("RXE-3.1"); line and column of the input from 1, 0: none.
 */
MENISCUS_EXPORT const char* meniscus_field_place(const MeniscusField* field,
                                                 size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT uint64_t meniscus_field_line(const MeniscusField* field) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT uint64_t meniscus_field_column(const MeniscusField* field) MENISCUS_NOEXCEPT;
/* Nonzero when the value was read out of free text. */
MENISCUS_EXPORT int meniscus_field_from_text(const MeniscusField* field) MENISCUS_NOEXCEPT;

/* What was missing, so that rules could not be assessed; NULL past the end. */
MENISCUS_EXPORT const MeniscusMissing* meniscus_verdict_missing(const MeniscusVerdict* verdict,
                                                                size_t index) MENISCUS_NOEXCEPT;
/* "patient.weight", "history before 2026-03-02". */
MENISCUS_EXPORT const char* meniscus_missing_what(const MeniscusMissing* missing,
                                                  size_t* size) MENISCUS_NOEXCEPT;
MENISCUS_EXPORT size_t meniscus_missing_rule_count(const MeniscusMissing* missing)
    MENISCUS_NOEXCEPT;
/* NULL past the end. */
MENISCUS_EXPORT const char* meniscus_missing_rule(const MeniscusMissing* missing,
                                                  size_t index) MENISCUS_NOEXCEPT;

#ifdef __cplusplus
}
#endif

#endif /* MENISCUS_H */
