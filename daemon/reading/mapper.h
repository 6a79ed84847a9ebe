// Applies a mapping: raw records (field name, text) to readings, declarations and scans. Nothing is guessed: what the
// mapping does not cover is refused with a reason, and the caller sets the record aside.
//
// Numbers are exact decimals with the marks that the mapping names; no locale. Units: carat ct, g (5 ct), mg (0.005 ct);
// lengths mm, um, in (25.4 mm); temperature C, F ((F - 32) × 5/9, rounded to four places); confidence and humidity 1 or
// percent. Stock numbers are text: leading zeros, "12E4", case and inner marks stay.
#pragma once

#include <girdle/reader.h>

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "model/mapping.h"
#include "model/record.h"

namespace girdle::reading {

class Mapper {
 public:
  // `timezone` is the site's. `sparse`: see Manifest.
  static base::Result<Mapper> compile(const model::Mapping& mapping, std::string_view timezone, bool sparse);
  Mapper(Mapper&&) noexcept;
  Mapper& operator=(Mapper&&) noexcept;
  ~Mapper();

  // Appends one record to `out`, or nothing and gives the reason. The record's texts are trimmed of outer white space.
  // `layouts_known`: the layout numbers are those of the reader of the last call (see girdle_record).
  bool apply(const girdle_record& record, model::Records& out, std::string& reason);
  // The next records come from another reader: its layout numbers start anew.
  void forget_layout();

 private:
  struct State;
  explicit Mapper(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace girdle::reading
