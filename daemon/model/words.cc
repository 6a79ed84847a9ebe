#include "model/words.h"

#include <array>
#include <span>

namespace girdle::model {
namespace {

constexpr std::array<std::string_view, kFindings> kFindingWords = {
    "natural", "laboratory_grown", "treated", "composite", "simulant", "indeterminate", "void"};
constexpr std::array<std::string_view, 4> kTypeWords = {"Ia", "Ib", "IIa", "IIb"};
constexpr std::array<std::string_view, 3> kKindWords = {"stone", "piece", "parcel"};
constexpr std::array<std::string_view, 5> kDispositionWords = {"repeat", "release", "hold", "refer", "reject"};
constexpr std::array<std::string_view, 3> kScopeWords = {"in", "out", "unknown"};
constexpr std::array<std::string_view, 3> kFitnessWords = {"fit", "unfit", "unknown"};
constexpr std::array<std::string_view, 4> kDeliveryWords = {"waiting", "sent", "parked", "skipped"};

template <class Enum>
std::optional<Enum> find(std::string_view word, std::span<const std::string_view> words) {
  for (size_t i = 0; i < words.size(); ++i) {
    if (words[i] == word) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

}  // namespace

std::string_view text(Finding value) { return kFindingWords[static_cast<size_t>(value)]; }
std::string_view text(DiamondType value) { return kTypeWords[static_cast<size_t>(value)]; }
std::string_view text(SubjectKind value) { return kKindWords[static_cast<size_t>(value)]; }
std::string_view text(Disposition value) { return kDispositionWords[static_cast<size_t>(value)]; }
std::string_view text(Scope value) { return kScopeWords[static_cast<size_t>(value)]; }
std::string_view text(Fitness value) { return kFitnessWords[static_cast<size_t>(value)]; }
std::string_view text(DeliveryState value) { return kDeliveryWords[static_cast<size_t>(value)]; }

std::optional<Finding> finding_of(std::string_view word) { return find<Finding>(word, kFindingWords); }
std::optional<DiamondType> diamond_type_of(std::string_view word) { return find<DiamondType>(word, kTypeWords); }
std::optional<SubjectKind> subject_kind_of(std::string_view word) { return find<SubjectKind>(word, kKindWords); }
std::optional<Disposition> disposition_of(std::string_view word) { return find<Disposition>(word, kDispositionWords); }
std::optional<DeliveryState> delivery_state_of(std::string_view word) { return find<DeliveryState>(word, kDeliveryWords); }

}  // namespace girdle::model
