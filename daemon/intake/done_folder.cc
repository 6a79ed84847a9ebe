#include "intake/done_folder.h"

#include <cerrno>

#include "base/result.h"
#include "intake/folder_work.h"
#include "intake/name_rules.h"

namespace girdle::intake {
namespace {

constexpr unsigned kMostNumbers = 10'000;

// A rename changes ctime, and nothing else.
bool is_same_content(const FileStatus& a, const FileStatus& b) {
  return a.is_same_file(b) && a.size == b.size && a.mtime_ns == b.mtime_ns;
}

}  // namespace

void DoneFolder::move_away(const std::string& name, const FileStatus& taken_in) {
  if (!work_.settings.move_done) return;
  FileStatus now;
  if (work_.files.status_at(work_.folder.get(), name.c_str(), now) != 0 || now != taken_in) return;
  std::string moved_to;
  const int error = move_under_free_name(name, moved_to);
  if (error != 0) return say_once(name, error);
  said_ = false;
  // Another file may have taken the name between the look and the move; it is not taken in yet, so
  // it goes back. The name is free, or has a still newer file: then that one is the news, and the
  // other stays where it can be found.
  if (work_.files.status_at(work_.folder.get(), moved_to.c_str(), now) == 0 &&
      !is_same_content(now, taken_in)) {
    work_.files.move_at(work_.folder.get(), moved_to.c_str(), name.c_str());
  }
}

int DoneFolder::move_under_free_name(const std::string& name, std::string& moved_to) {
  int error = EEXIST;
  for (unsigned number = 1; error == EEXIST && number <= kMostNumbers; ++number) {
    moved_to = std::string(kName) + "/" + (number == 1 ? name : numbered_name(name, number));
    error = work_.files.move_at(work_.folder.get(), name.c_str(), moved_to.c_str());
    if (error != ENOENT || number > 1) continue;
    const int made = work_.files.make_folder_at(work_.folder.get(), std::string(kName).c_str());
    if (made != 0 && made != EEXIST) return made;
    error = work_.files.move_at(work_.folder.get(), name.c_str(), moved_to.c_str());
  }
  return error;
}

void DoneFolder::say_once(const std::string& name, int error) {
  if (std::exchange(said_, true) || error == ENOENT) return;
  work_.log.warning("cannot move what was taken in; it stays, and is not read again",
                    {{"intake", work_.intake}, {"file", name}, {"error", base::errno_text(error)}});
}

}  // namespace girdle::intake
