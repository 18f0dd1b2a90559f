// Answers to HL7 v2 messages: one application answer a message, in the sender's version and
// framing.
//
// Mode:     original (MSH-15 and MSH-16 empty): AA, AE or AR.  Enhanced: first CA or CR as MSH-15
//           asks, and after CA the application answer as MSH-16 asks; an order that is held is
//           always answered, whatever MSH-16 says.
// Answer:   the order response of the kind (RRE, ORP, RRD, RRG, RRA, ORR) with ORC-1 `OK` or `UA`
// for
//           each order, else the general ACK.  An order that was not judged (no injection) gets no
//           ORC.
// Accepted: only an order whose check was completed and whose outcome is below the threshold; one
//           that is incomplete never is.  AR when the message could not be read.
// Findings: one ERR each (before 2.5: ERR-1 and MSA-3), one ERR of severity I for what was not
//           assessed, one of severity I for each that is answered or muted.
// Severity: hold and clarify E, caution W, note and not assessed I (table 0516;
// docs/formats-hl7.md). Source:   HL7 v2.5.1 sections 2.9 (acknowledgements), 2.15.5 (ERR), 2.15.8
// (MSA).
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "adapters/hl7v2/message.hpp"
#include "engine/ports/verdict_sink.hpp"
#include "engine/program/program.hpp"

namespace meniscus::adapters::hl7v2 {

/// How an order at or above the threshold is answered.  There is no default.
enum class OnHold : std::uint8_t {
  Ua,  // AA, and `UA` for the order; AE where the kind has no order response
  Ae   // AE
};

/// The rule of a finding that refuses a message because its control id was another's.
inline constexpr std::string_view kControlIdUsed = "control-id-used";

struct AckPolicy {
  OnHold on_hold;
  engine::Outcome threshold;  // Note to Hold; at or above it an order is not accepted
};

/// Whether answers of ours, in frames or not, say of an order that it must not go through.
bool refuses_an_order(std::string_view answers);

/// The gravest grade or outcome that answers of ours name (ERR-7); none where they name none, as
/// before version 2.5, whose answers have no place for it.
std::optional<engine::Outcome> outcome_in(std::string_view answers);

class Hl7AckSink : public engine::VerdictSink {
 public:
  /// Takes one whole answer; false when it could not be handed out.
  using Output = std::function<bool(std::string_view)>;
  /// The time of an answer as HL7 writes it: 20260302091400+0100.
  using Now = std::function<std::string()>;

  /// `program` gives the rules' titles; may be null.
  Hl7AckSink(const AckPolicy& policy, Output output, Now now,
             const engine::Program* program = nullptr);

  /// Titles come from this program from now on; may be null.
  void use(const engine::Program* program) { program_ = program; }

  /// `source` must be an Hl7Source (a FramedSource): without one every lane is answered by itself.
  void write(const engine::Verdict& verdict, const engine::OrderBlock& block,
             const engine::OrderSource& source) override;
  /// Errors: Input, when an answer could not be handed out.
  engine::Status finish() override;

 private:
  struct Totals {
    unsigned lanes = 0;
    unsigned unreadable = 0;
    unsigned held = 0;
    unsigned outside = 0;
  };

  void add_order(const engine::Verdict& verdict, const engine::OrderBlock& block, bool accepted);
  void add_finding(const engine::Finding& finding, const engine::RecordInfo& record);
  void add_not_assessed(const engine::Verdict& verdict, const engine::RecordInfo& record);
  void add_answered(const engine::Verdict& verdict, const engine::RecordInfo& record);
  void add_muted(const engine::Verdict& verdict, const engine::RecordInfo& record);
  void add_error(std::string_view location, std::string_view condition, char severity,
                 std::string_view code, std::string_view diagnostic, std::string_view user);
  std::string location_of(const engine::BlamedField& field, const engine::RecordInfo& record);
  /// Of the order itself, where no field is to blame.
  std::string order_location(const engine::RecordInfo& record);
  /// The message of a record, split when it is asked for first.
  const Message& whole(const engine::RecordInfo& record);
  [[nodiscard]] std::string_view title_of(std::string_view rule) const;
  void add_header_error(unsigned field, std::string_view condition, std::string_view user);
  void begin_message(const engine::RecordInfo& record);
  void answer(bool framed);
  [[nodiscard]] std::string_view answer_code(bool refused, bool responds) const;
  void append_body(std::string_view code, std::string& out) const;
  void append_header(std::string_view type, bool accept, std::string& out);
  std::string& begin_answer(bool framed);
  void send(bool framed);

  AckPolicy policy_;
  Output output_;
  Now now_;
  const engine::Program* program_;
  Message message_;
  const Message* split_ = nullptr;  // all of it, where the source has it split
  Message whole_;                   // all of it, where something is looked for in it and it has not
  bool is_split_ = false;           // whole_ is of the message being answered
  std::string header_text_;         // the MSH of the message being answered; message_ looks at it
  Totals totals_;
  std::string errors_;     // ERR segments (2.5 and later)
  std::string locations_;  // ERR-1 (before 2.5)
  std::string text_;       // MSA-3 (before 2.5): the gravest finding
  std::string orders_;     // ORC segments
  std::string answer_;     // being written
  bool open_ = false;
  bool modern_ = true;  // ERR-2 and later
  bool failed_ = false;
  std::uint64_t sequence_ = 0;
};

}  // namespace meniscus::adapters::hl7v2
