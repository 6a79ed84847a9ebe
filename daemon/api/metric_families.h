// What /metrics tells, as data: the program writes by it, and the table in README.md is made of it.
//
// Labels have names of the configuration and words of closed lists, so that no outsider makes one.
#pragma once

#include <span>

#include "api/openmetrics.h"

namespace girdle::api::families {

using openmetrics::Family;
using openmetrics::Type;

// clang-format off: a table
inline constexpr Family kBuild{Type::kInfo, "girdle_build", "", {"version"},
    "What runs."};
inline constexpr Family kStart{Type::kGauge, "girdle_start_time_seconds", "seconds", {},
    "When the service started, in seconds since 1970."};
inline constexpr Family kMemory{Type::kGauge, "girdle_resident_memory_bytes", "bytes", {},
    "Memory of the process that is in RAM."};

inline constexpr Family kReadings{Type::kCounter, "girdle_readings", "", {},
    "Readings that came, with corrections and without duplicates."};
inline constexpr Family kDuplicates{Type::kCounter, "girdle_duplicates", "", {},
    "Readings that were there already."};
inline constexpr Family kCorrections{Type::kCounter, "girdle_corrections", "", {},
    "Readings that took the place of an earlier record of their run."};
inline constexpr Family kVoids{Type::kCounter, "girdle_voids", "", {},
    "Readings without a valid measurement."};
inline constexpr Family kDeclarations{Type::kCounter, "girdle_declarations", "", {},
    "Declarations that came, without duplicates."};
inline constexpr Family kScans{Type::kCounter, "girdle_scans", "", {},
    "Scans of stock numbers that came."};
inline constexpr Family kAsides{Type::kCounter, "girdle_asides", "", {},
    "What was set aside, because nobody could read it."};
inline constexpr Family kOutcomes{Type::kCounter, "girdle_outcomes", "", {"disposition"},
    "Outcomes, by what they say to do."};
inline constexpr Family kByHand{Type::kCounter, "girdle_outcomes_by_hand", "", {},
    "Outcomes that a person decided; they are among girdle_outcomes too."};

inline constexpr Family kWriterQueue{Type::kGauge, "girdle_writer_queued_records", "", {},
    "Records that wait for the writer; at 4000 the intakes wait for it."};
inline constexpr Family kWriterRefused{Type::kGauge, "girdle_writer_refused", "", {},
    "1 while the disk refuses a commit, which is tried again."};
inline constexpr Family kCommit{Type::kHistogram, "girdle_commit_seconds", "seconds", {},
    "How long transactions took, until they were durable."};
inline constexpr Family kLedgerReadable{Type::kGauge, "girdle_ledger_readable", "", {},
    "0 where the ledger gave no answer, and what it should have told is missing here."};

inline constexpr Family kIntakeUp{Type::kGauge, "girdle_intake_up", "", {"intake"},
    "1 while its folder, device or peer is there."};
inline constexpr Family kIntakeTrouble{Type::kGauge, "girdle_intake_troubled", "", {"intake"},
    "1 while something is wrong with it, even if only in part."};
inline constexpr Family kIntakeDocuments{Type::kCounter, "girdle_intake_documents", "", {"intake"},
    "Documents that it handed on, with the repeats after a failed commit."};
inline constexpr Family kIntakeBytes{Type::kCounter, "girdle_intake_bytes", "bytes", {"intake"},
    "Bytes of these documents."};
inline constexpr Family kIntakeKnown{Type::kCounter, "girdle_intake_known_documents", "", {"intake"},
    "Documents that were there already, byte for byte."};
inline constexpr Family kIntakeAsides{Type::kCounter, "girdle_intake_unread_documents", "", {"intake"},
    "Documents and stretches of a line that were set aside without being read."};
inline constexpr Family kIntakeAbandoned{Type::kCounter, "girdle_intake_abandoned_documents", "", {"intake"},
    "Documents that were given up half-way, to be offered again."};
inline constexpr Family kIntakeFailed{Type::kCounter, "girdle_intake_failed_commits", "", {"intake"},
    "Commits of its documents that failed."};
inline constexpr Family kIntakeInFlight{Type::kGauge, "girdle_intake_in_flight_documents", "", {"intake"},
    "Documents that were handed on and are not yet durable."};
inline constexpr Family kIntakeLast{Type::kGauge, "girdle_intake_last_document_age_seconds", "seconds", {"intake"},
    "Time since its last document; missing until the first."};

inline constexpr Family kInstrumentReadings{Type::kCounter, "girdle_instrument_readings", "", {"instrument"},
    "The same as girdle_readings, by instrument; those that are not configured have one name together."};
inline constexpr Family kInstrumentVoids{Type::kCounter, "girdle_instrument_voids", "", {"instrument"},
    "The same as girdle_voids, by instrument."};
inline constexpr Family kInstrumentLast{Type::kGauge, "girdle_instrument_last_reading_age_seconds", "seconds", {"instrument"},
    "Time since its last reading came; missing where none ever did."};
inline constexpr Family kInstrumentClock{Type::kGauge, "girdle_instrument_clock_offset_seconds", "seconds", {"instrument"},
    "By how much its last 20 readings by a line or a post came after their measurement, at the least; less than 0: its clock is "
    "ahead."};

inline constexpr Family kOutletState{Type::kStateSet, "girdle_outlet_state", "", {"outlet"},
    "Open, paused by a person, closed by its receiver, or resting after failures."};
inline constexpr Family kDeliveries{Type::kGauge, "girdle_outlet_deliveries", "", {"outlet", "state"},
    "Deliveries in the ledger that wait, and that are parked."};
inline constexpr Family kOldest{Type::kGauge, "girdle_outlet_oldest_waiting_age_seconds", "seconds", {"outlet"},
    "How long the delivery that waits longest has waited; 0 where none does."};
inline constexpr Family kSent{Type::kCounter, "girdle_outlet_sent_deliveries", "", {"outlet"},
    "Deliveries that the receiver took."};
inline constexpr Family kParked{Type::kCounter, "girdle_outlet_parked_deliveries", "", {"outlet"},
    "Deliveries that were given up until a person sends them again."};
inline constexpr Family kAttempts{Type::kCounter, "girdle_outlet_attempts", "", {"outlet"},
    "Attempts at deliveries; a batch is one at each of its deliveries."};
inline constexpr Family kFailedAttempts{Type::kCounter, "girdle_outlet_failed_attempts", "", {"outlet"},
    "Those of them that the receiver did not take, and deliveries that no message could say."};
inline constexpr Family kOutletMemory{Type::kGauge, "girdle_outlet_ready_deliveries", "", {"outlet"},
    "Deliveries that are ready in memory; the others that wait are in the ledger."};
inline constexpr Family kOutletInFlight{Type::kGauge, "girdle_outlet_in_flight_attempts", "", {"outlet"},
    "Attempts under way."};
inline constexpr Family kAttemptTime{Type::kHistogram, "girdle_outlet_attempt_seconds", "seconds", {"outlet"},
    "How long attempts took; a batch is one."};
inline constexpr Family kOutcomeToSent{Type::kHistogram, "girdle_outlet_outcome_to_sent_seconds", "seconds", {"outlet"},
    "From when an outcome was decided until the receiver had it, each time that it was sent."};

inline constexpr Family kConnections{Type::kGauge, "girdle_api_connections", "", {},
    "Open connections to this server."};
inline constexpr Family kListeners{Type::kGauge, "girdle_api_listeners", "", {},
    "Those of them that listen to events."};
// clang-format on

// In the order of the exposition.
inline constexpr const Family* kAll[] = {
    &kBuild, &kStart, &kMemory, &kReadings, &kDuplicates, &kCorrections, &kVoids, &kDeclarations,
    &kScans, &kAsides, &kOutcomes, &kByHand, &kWriterQueue, &kWriterRefused, &kCommit,
    &kLedgerReadable, &kIntakeUp, &kIntakeTrouble, &kIntakeDocuments, &kIntakeBytes, &kIntakeKnown,
    &kIntakeAsides, &kIntakeAbandoned, &kIntakeFailed, &kIntakeInFlight, &kIntakeLast,
    &kInstrumentReadings, &kInstrumentVoids, &kInstrumentLast, &kInstrumentClock, &kOutletState,
    &kDeliveries, &kOldest, &kSent, &kParked, &kAttempts, &kFailedAttempts, &kOutletMemory,
    &kOutletInFlight, &kAttemptTime, &kOutcomeToSent, &kConnections, &kListeners};

}  // namespace girdle::api::families
