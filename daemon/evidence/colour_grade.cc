#include "evidence/colour_grade.h"

namespace girdle::evidence {

std::optional<int> colour_rank(std::string_view grade) {
  if (grade.size() != 1 || grade[0] < 'D' || grade[0] > 'Z') return std::nullopt;
  return grade[0] - 'D' + 1;
}

}  // namespace girdle::evidence
