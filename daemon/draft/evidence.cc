#include "draft/evidence.h"

#include <algorithm>

#include "base/text.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostShown = 6;
constexpr size_t kLongestShown = 40;

std::vector<std::string> joined_texts(const TimeColumns& time) {
  std::vector<std::string> joined(time.columns.front()->texts.size());
  for (size_t row = 0; row < joined.size(); ++row) {
    for (const Column* column : time.columns) {
      if (column != time.columns.front()) joined[row] += ' ';
      joined[row] += column->texts[row];
    }
    if (base::trimmed(joined[row]).empty()) joined[row].clear();
  }
  return joined;
}

}  // namespace

std::string times_shown(size_t count) {
  return count == 1 ? "once" : std::to_string(count) + " times";
}

std::string in_quotes(std::string_view text) {
  return base::in_quotes(text, kLongestShown);
}

std::string place_shown(const std::vector<RawRecord>& records, size_t record) {
  if (records[record].line == 0) return "in record " + std::to_string(record + 1);
  return "on line " + std::to_string(records[record].line);
}

std::string words_shown(const Column& column) {
  std::vector<std::string> shown;
  for (const DistinctText& one : column.distinct) {
    if (shown.size() == kMostShown) break;
    shown.push_back(in_quotes(one.text) + ' ' + times_shown(one.count));
  }
  if (column.distinct_count > shown.size()) {
    shown.push_back(std::to_string(column.distinct_count - shown.size()) + " others");
  }
  return shown.empty() ? "always empty" : listed(shown, "and");
}

std::string key_shown(const Column& column) {
  if (column.distinct_count == 1) {
    return in_quotes(column.name) + (column.filled() > 1 ? ": always " : ": ") +
           in_quotes(column.distinct.front().text);
  }
  std::string text = in_quotes(column.name) + ": " +
                     counted(column.distinct_count, "different text") + " in " +
                     counted(column.filled(), "record");
  if (column.distinct.empty()) return text;
  text += ", such as " + in_quotes(column.distinct.front().text);
  if (!column.pattern.empty() && column.distinct_count > 1) {
    text += ", all like " + base::excerpt(column.pattern, kLongestShown);
  }
  return text;
}

std::string numbers_shown(const Column& column) {
  const NumberLook& look = column.numbers;
  std::string text = in_quotes(column.name) + ": ";
  if (look.least_text == look.most_text) return text + "always " + std::string(look.least_text);
  text += look.whole ? "whole numbers from " : "numbers from ";
  text += std::string(look.least_text) + " to " + std::string(look.most_text);
  return text;
}

std::string column_shown(const Column& column) {
  if (column.filled() == 0) return "always empty";
  if (column.distinct_count == 1) return "always " + in_quotes(column.distinct.front().text);
  if (!column.times.empty()) return "a time, such as " + in_quotes(column.distinct.front().text);
  if (column.numbers.are_numbers()) {
    return "numbers from " + std::string(column.numbers.least_text) + " to " +
           std::string(column.numbers.most_text);
  }
  return counted(column.distinct_count, "different text") + ", such as " +
         in_quotes(column.distinct.front().text);
}

TimeColumns time_of(const std::vector<Column>& columns, const std::vector<size_t>& which) {
  TimeColumns time;
  for (const size_t column : which) time.columns.push_back(&columns[column]);
  const Column& first = *time.columns.front();
  if (time.columns.size() == 1) {
    time.readings = first.times;
    time.records = first.filled();
    return time;
  }
  const std::vector<std::string> joined = joined_texts(time);
  const std::vector<std::string_view> texts(joined.begin(), joined.end());
  time.records = static_cast<size_t>(
      std::count_if(texts.begin(), texts.end(), [](auto text) { return !text.empty(); }));
  std::vector<std::string> forms;
  for (const TimeReading& date : first.times) {
    for (const std::string& clock : time.columns.back()->clocks) {
      forms.push_back(date.form + ' ' + clock);
    }
  }
  time.readings = fitting_forms(forms, texts);
  return time;
}

std::string time_shown(const TimeColumns& time, const TimeReading& reading) {
  std::vector<std::string> names;
  for (const Column* column : time.columns) names.push_back(in_quotes(column->name));
  std::string text = listed(names, "and") + ": " + counted(time.records, "record") +
                     (time.records == 1 ? " fits" : " fit");
  if (time.readings.size() > 1) {
    return text + " each of " + counted(time.readings.size(), "form") + "; only one can be meant";
  }
  return text + ", " + form_shown(reading).substr(reading.form.size() + 4);
}

std::string form_shown(const TimeReading& reading) {
  std::string text = '"' + reading.form + "\": from " + shown(reading, reading.first) + " to " +
                     shown(reading, reading.last);
  if (reading.steps_back > 0) {
    text += ", " + times_shown(reading.steps_back) + " out of order";
  } else if (reading.first != reading.last) {
    text += ", in the order of the records";
  }
  return text;
}

}  // namespace girdle::draft
