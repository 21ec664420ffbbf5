#pragma once
// What has been crossed out on a prep list: kept between runs, and taken back one by one.

#include <filesystem>
#include <string>
#include <vector>

#include "common/result.hpp"

namespace nappe::client {

/// The acts in their order: a line was crossed out, or the cross was rubbed out again. What is crossed now follows.
class Crossings {
 public:
  /// One act a line: "+ID" or "-ID". A line that is neither is left out: a torn file loses no more than its last act.
  static Crossings read(const std::string& text);
  [[nodiscard]] std::string write() const;

  [[nodiscard]] bool crossed(const std::string& id) const;
  [[nodiscard]] std::vector<std::string> all() const;  ///< In the order they were crossed.
  /// Crosses out, or rubs the cross out.
  void toggle(const std::string& id);
  /// Takes the last act back and says which line it was about; empty when there is none.
  std::string undo();

 private:
  struct Act {
    std::string id;
    bool cross = true;
  };
  std::vector<Act> acts_;
};

/// The file that keeps the crossings of one list. Between `open` and its end no other process changes them.
class CrossingsFile {
 public:
  static Result<CrossingsFile> open(const std::filesystem::path& path);
  CrossingsFile(CrossingsFile&& other) noexcept;
  CrossingsFile& operator=(CrossingsFile&&) = delete;
  ~CrossingsFile();

  Crossings crossings;
  /// Replaces the file whole: after a crash it holds the old text or the new one.
  [[nodiscard]] Status save() const;

 private:
  CrossingsFile() = default;
  std::filesystem::path path_;
  int lock_ = -1;
};

/// Where a list's crossings are kept when nobody says otherwise: in the user's state folder, by house and bookings.
std::filesystem::path crossings_path(const std::string& house, const std::string& title);

}  // namespace nappe::client
