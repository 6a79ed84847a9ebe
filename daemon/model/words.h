// The closed vocabularies, and their texts as they stand in configuration, JSON and the ledger.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace girdle::model {

// What a reading asserts. The first five are the terms of ISO 18323; the last two are ours.
enum class Finding : uint8_t {
  kNatural,
  kLaboratoryGrown,
  kTreated,
  kComposite,
  kSimulant,
  kIndeterminate,  // measured, but this instrument cannot tell
  kVoid,           // no valid measurement: empty, metal, not seated, out of focus, cancelled
};
inline constexpr int kFindings = 7;

// The usual classes by nitrogen and boron, where an instrument reports one.
enum class DiamondType : uint8_t { kIa, kIb, kIIa, kIIb };

enum class SubjectKind : uint8_t { kStone, kPiece, kParcel };

// What the policy says to do.
enum class Disposition : uint8_t {
  kRepeat,   // measure again
  kRelease,  // may go on as declared
  kHold,     // a person must look
  kRefer,    // send to a gemmological laboratory
  kReject,   // not what it was taken for
};

enum class Scope : uint8_t { kIn, kOut, kUnknown };
enum class Fitness : uint8_t { kFit, kUnfit, kUnknown };
enum class DeliveryState : uint8_t {
  kWaiting,
  kSent,
  kParked,
  kSkipped,  // a later outcome of its case went in its place
};

std::string_view text(Finding value);
std::string_view text(DiamondType value);
std::string_view text(SubjectKind value);
std::string_view text(Disposition value);
std::string_view text(Scope value);
std::string_view text(Fitness value);
std::string_view text(DeliveryState value);

// Exact and case-sensitive; nothing for any other word.
std::optional<Finding> finding_of(std::string_view word);
std::optional<DiamondType> diamond_type_of(std::string_view word);
std::optional<SubjectKind> subject_kind_of(std::string_view word);
std::optional<Disposition> disposition_of(std::string_view word);
std::optional<DeliveryState> delivery_state_of(std::string_view word);

// What every outcome, screen and export that a person reads says.
inline constexpr std::string_view kNotice =
    "Screening result, not an identification report. Where it matters, ask a qualified gemmological laboratory; "
    "local rules on disclosure apply.";

}  // namespace girdle::model
