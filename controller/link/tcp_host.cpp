#include "link/tcp_host.h"

#include "link/plate_link.h"

#include <future>
#include <netdb.h>
#include <thread>

namespace stripwright {

struct Lookup {
    std::vector<std::string> addresses;
    std::string error;
};

static Lookup lookUp(const std::string& host, const std::string& service, int flags)
{
    addrinfo hints{};
    hints.ai_flags = flags;
    hints.ai_socktype = SOCK_STREAM;
    addrinfo* list = nullptr;
    Lookup result;
    if (const int rc = getaddrinfo(host.c_str(), service.c_str(), &hints, &list); rc != 0) {
        result.error = gai_strerror(rc);
        return result;
    }
    for (const addrinfo* one = list; one; one = one->ai_next) {
        char text[NI_MAXHOST];
        if (getnameinfo(one->ai_addr, one->ai_addrlen, text, sizeof text, nullptr, 0, NI_NUMERICHOST) == 0)
            result.addresses.emplace_back(text);
    }
    freeaddrinfo(list);
    return result;
}

std::vector<std::string> addressesOf(const std::string& host, int port, double timeoutS)
{
    const std::string service = std::to_string(port);
    if (Lookup numbers = lookUp(host, service, AI_NUMERICHOST); !numbers.addresses.empty())
        return std::move(numbers.addresses);
    // A name server that does not answer holds getaddrinfo for many seconds; the thread is left to it.
    std::packaged_task<Lookup()> task([host, service] { return lookUp(host, service, 0); });
    std::future<Lookup> answer = task.get_future();
    std::thread(std::move(task)).detach();
    const bool ready = answer.wait_for(std::chrono::duration<double>(timeoutS)) == std::future_status::ready;
    Lookup found = ready ? answer.get() : Lookup{{}, "no answer from the name server"};
    if (found.addresses.empty())
        throw LinkError("the host \"" + host + "\" is not known (" + found.error +
                        "): check \"host\" in the plate link file, or give the plate's address in numbers");
    return std::move(found.addresses);
}

} // namespace stripwright
