#include "server/static_files.hpp"

#include <array>
#include <fstream>
#include <sstream>
#include <utility>

#include "server/journal.hpp"

namespace nappe::server {

namespace {

constexpr std::uintmax_t file_bytes_max = 8U << 20U;

constexpr std::array<std::pair<const char*, const char*>, 14> media_types = {{
    {".html", "text/html; charset=utf-8"},
    {".js", "text/javascript; charset=utf-8"},
    {".mjs", "text/javascript; charset=utf-8"},
    {".css", "text/css; charset=utf-8"},
    {".json", "application/json"},
    {".map", "application/json"},
    {".webmanifest", "application/manifest+json"},
    {".svg", "image/svg+xml"},
    {".png", "image/png"},
    {".ico", "image/x-icon"},
    {".woff2", "font/woff2"},
    {".wasm", "application/wasm"},
    {".txt", "text/plain; charset=utf-8"},
    {".webp", "image/webp"},
}};

/// Only what the page itself brings may run or be loaded, and it may talk to nobody else.
constexpr const char* page_policy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'";

bool inside(const std::filesystem::path& root, const std::filesystem::path& file) {
  const auto [at_root, at_file] = std::mismatch(root.begin(), root.end(), file.begin(), file.end());
  return at_root == root.end() && at_file != file.end();
}

}  // namespace

std::string media_type(const std::filesystem::path& file) {
  const std::string ending = file.extension().string();
  for (const auto& [known, type] : media_types) {
    if (ending == known) return type;
  }
  return "application/octet-stream";
}

StaticFiles::StaticFiles(const std::filesystem::path& folder) {
  std::error_code error;
  if (!folder.empty()) root_ = std::filesystem::canonical(folder, error);
  if (error) root_.clear();
}

std::optional<HttpResponse> StaticFiles::find(const std::string& path, const HttpRequest& request) const {
  if (root_.empty() || !path.starts_with('/') || path.find('\\') != std::string::npos) return std::nullopt;
  const std::string relative = path.ends_with('/') ? path.substr(1) + "index.html" : path.substr(1);
  if (std::filesystem::path(relative).is_absolute()) return std::nullopt;
  // canonical() follows every link and every "..": what it answers is where the file really is.
  std::error_code error;
  const auto file = std::filesystem::canonical(root_ / relative, error);
  if (error || !inside(root_, file) || !std::filesystem::is_regular_file(file, error)) return std::nullopt;
  if (std::filesystem::file_size(file, error) > file_bytes_max || error) return std::nullopt;

  std::ifstream stream(file, std::ios::binary);
  std::ostringstream content;
  content << stream.rdbuf();
  if (!stream) return std::nullopt;

  HttpResponse response;
  response.type = media_type(file);
  response.body = content.str();
  const std::string tag = '"' + digest_of(response.body).substr(0, 32) + '"';
  const bool named_by_content = relative.starts_with("assets/");
  response.headers = {{"ETag", tag},
                      {"Cache-Control", named_by_content ? "public, max-age=31536000, immutable" : "no-cache"},
                      {"Content-Security-Policy", page_policy},
                      {"X-Content-Type-Options", "nosniff"},
                      {"Referrer-Policy", "no-referrer"},
                      {"Cross-Origin-Opener-Policy", "same-origin"},
                      {"Cross-Origin-Resource-Policy", "same-origin"}};
  if (request.header("if-none-match").find(tag) != std::string_view::npos) {
    response.status = 304;
    response.body.clear();
  }
  return response;
}

}  // namespace nappe::server
