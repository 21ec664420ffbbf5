#pragma once
// The files of the page, from one folder and never from outside it.

#include <filesystem>
#include <optional>
#include <string>

#include "server/http.hpp"

namespace nappe::server {

class StaticFiles {
 public:
  /// An empty folder name, or one that is not there, serves nothing.
  explicit StaticFiles(const std::filesystem::path& folder);

  /// The file at this decoded path ("/" is index.html), with type, ETag and the page's security headers; 304 when the
  /// request has it already; nothing when there is no such file. Reads the disk each time: the page is small, and a new
  /// build of it shows without a restart.
  [[nodiscard]] std::optional<HttpResponse> find(const std::string& path, const HttpRequest& request) const;

 private:
  std::filesystem::path root_;
};

/// The media type by the file's ending; application/octet-stream for one we do not know.
std::string media_type(const std::filesystem::path& file);

}  // namespace nappe::server
