// What bodies of one's own share: each outcome is told from its event.
#pragma once

#include <string>

#include "delivery/body.h"
#include "delivery/parsed_event.h"

namespace girdle::delivery {

// clang 14 takes the members of a tree for an incomplete type unless a tree was moved before they
// are looked at.
inline config::Tree moved(config::Tree tree) { return tree; }

class OwnBody : public Body {
 public:
  base::Result<void> add(std::string& out, const model::Outcome& outcome) final;
  // The same of an outcome that has been read already.
  base::Result<void> add(std::string& out, const ParsedEvent& event);

 protected:
  // Appends one outcome; where that fails, what was appended is taken back.
  virtual base::Result<void> write(std::string& out, const ParsedEvent& event) = 0;

 private:
  ParsedEvent event_;
};

}  // namespace girdle::delivery
