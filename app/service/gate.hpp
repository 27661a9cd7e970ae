#pragma once
#include "service/problem.hpp"

#include <cstddef>
#include <optional>

namespace httplib {
struct Request;
struct Response;
}  // namespace httplib

// What a request must be before anything of it is looked at.

namespace halflight::service {

/// Largest body of a request, bytes: the largest document with its own quotation.
inline constexpr std::size_t kLargestBody = std::size_t{66} << 20;

/// Nothing for a request of the service's own pages, or of a program that names the service's own address;
/// another site's page, or another name for this machine, must not reach in.
std::optional<Problem> stranger(const httplib::Request& request, int port);

/// Nothing for a request whose body can be read to its end and no further: JSON of a length that is said
/// beforehand. What comes after a body that is left unread would be taken for the next request, with headers
/// that a foreign page could write as it likes.
std::optional<Problem> unreadable(const httplib::Request& request);

/// Answers with the problem and ends the connection, since nobody reads the request's body.
void turn_away(httplib::Response& response, const Problem& problem);

}  // namespace halflight::service
