// Puts files into a folder so that whoever imports them sees each whole or not at all: written
// under a name of ours, brought to the disk, then renamed. Replaces nothing. Blocks, for as long as
// the file system takes.
//
// On one thread at a time.
#pragma once

#include <atomic>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "delivery/drop_files.h"
#include "delivery/file_names.h"

namespace girdle::delivery {

class FileDrop {
 public:
  static constexpr unsigned kMostNumbers = 10'000;

  // `owner` tells our unfinished files from those of others who drop into the same folder: the site
  // and the outlet.
  FileDrop(std::shared_ptr<DropFiles> files, std::string folder, std::string_view owner);

  // Returns the name that the file has, once it is on the disk. Where a file of the name is there
  // with the same bytes, this is it: written before a crash, or by an attempt that was given up;
  // with other bytes, ours gets a number. The error is for a person, and then there is no such
  // file, but perhaps of the same bytes. When `given_up` is set meanwhile, nothing appears any
  // more, unless the renaming was under way.
  base::Result<std::string> drop(const FileName& name, std::string_view bytes,
                                 const std::atomic<bool>& given_up);

 private:
  struct Fault {
    int error = 0;
    std::string_view doing;
  };
  void remove_left_over(int folder);
  bool is_left_over(std::string_view name) const;
  Fault write_unfinished(int folder, std::string_view bytes);
  Fault write_all(int file, std::string_view bytes);
  Fault give_name(int folder, const FileName& name, std::string_view bytes, std::string& given);
  int move_to(int folder, const std::string& name);
  bool is_there(int folder, const std::string& name, std::string_view bytes);
  bool holds(int file, std::string_view bytes);
  int sync_folder(int folder);
  base::Error explain(const Fault& fault, const FileName& name) const;

  std::shared_ptr<DropFiles> files_;
  std::string folder_;
  std::string
      unfinished_begin_;    // of the names of our unfinished files, this run's and those before
  std::string unfinished_;  // of this object's
  bool tidied_ = false;
};

}  // namespace girdle::delivery
