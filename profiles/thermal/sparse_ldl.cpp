#include "thermal/sparse_ldl.h"

#include <algorithm>

namespace stripwright {

namespace {

using Neighbours = std::vector<std::vector<int>>;

void join(std::vector<int>& list, int node)
{
    if (std::find(list.begin(), list.end(), node) == list.end())
        list.push_back(node);
}

/// For every node the first one it is joined to, directly or through others.
std::vector<int> islandsOf(const Neighbours& joined)
{
    std::vector<int> island(joined.size(), -1), reached;
    for (size_t first = 0; first < joined.size(); ++first) {
        if (island[first] >= 0)
            continue;
        reached.push_back(static_cast<int>(first));
        while (!reached.empty()) {
            const int node = reached.back();
            reached.pop_back();
            if (island[node] >= 0)
                continue;
            island[node] = static_cast<int>(first);
            reached.insert(reached.end(), joined[node].begin(), joined[node].end());
        }
    }
    return island;
}

/// Order of elimination by least degree, taken in rounds of nodes that do not touch: little fills in, and
/// neighbours in the order do not wait for each other's result. Islands stay together, near in memory.
/// Leaves in each node's list those that remain when its turn comes.
std::vector<int> orderOf(Neighbours& joined)
{
    const std::vector<int> island = islandsOf(joined);
    constexpr size_t fillsNothing = 2; // a node between two others leaves one link for two
    std::vector<int> order, remaining(joined.size());
    for (size_t i = 0; i < joined.size(); ++i)
        remaining[i] = static_cast<int>(i);
    std::vector<size_t> touchedInRound(joined.size(), 0);
    for (size_t round = 1; !remaining.empty(); ++round) {
        size_t most = joined[remaining.front()].size();
        for (int node : remaining)
            most = std::min(most, joined[node].size());
        most = std::max(most, fillsNothing);
        std::erase_if(remaining, [&](int node) {
            const std::vector<int>& others = joined[node];
            if (touchedInRound[node] == round || others.size() > most)
                return false;
            for (int other : others) {
                touchedInRound[other] = round;
                std::erase(joined[other], node);
                for (int third : others)
                    if (third != other)
                        join(joined[other], third);
            }
            order.push_back(node);
            return true;
        });
    }
    std::stable_sort(order.begin(), order.end(), [&](int a, int b) { return island[a] < island[b]; });
    return order;
}

} // namespace

SparseLdl::SparseLdl(int size, const std::vector<std::pair<int, int>>& places)
{
    Neighbours joined(size);
    for (const auto& [a, b] : places) {
        join(joined[a], b);
        join(joined[b], a);
    }
    order_ = orderOf(joined);
    std::vector<int> turn(size);
    for (int i = 0; i < size; ++i)
        turn[order_[i]] = i;

    columnStart_.push_back(size);
    row_.resize(size);
    for (int node : order_) {
        for (int other : joined[node])
            row_.push_back(turn[other]);
        std::sort(row_.begin() + columnStart_.back(), row_.end());
        columnStart_.push_back(static_cast<int>(row_.size()));
    }
    auto slot = [&](int a, int b) {
        const auto [column, row] = std::minmax(a, b);
        const auto start = row_.begin() + columnStart_[column], end = row_.begin() + columnStart_[column + 1];
        return a == b ? a : static_cast<int>(std::lower_bound(start, end, row) - row_.begin());
    };
    for (int j = 0; j < size; ++j)
        for (int a = columnStart_[j]; a < columnStart_[j + 1]; ++a)
            for (int b = a; b < columnStart_[j + 1]; ++b)
                target_.push_back(slot(row_[a], row_[b]));
    for (const auto& [a, b] : places)
        slotOfPlace_.push_back(slot(turn[a], turn[b]));
    values_.resize(row_.size());
    inverseDiagonal_.resize(size);
    work_.resize(size);
}

bool SparseLdl::factorise(const double* diagonal, const double* offDiagonal)
{
    const int size = static_cast<int>(order_.size());
    for (int i = 0; i < size; ++i)
        values_[i] = diagonal[order_[i]];
    std::fill(values_.begin() + size, values_.end(), 0.0);
    for (size_t place = 0; place < slotOfPlace_.size(); ++place)
        values_[slotOfPlace_[place]] += offDiagonal[place];
    const int* target = target_.data();
    for (int j = 0; j < size; ++j) {
        if (!(values_[j] > 0))
            return false;
        inverseDiagonal_[j] = 1 / values_[j];
        for (int a = columnStart_[j]; a < columnStart_[j + 1]; ++a) {
            const double factor = values_[a] * inverseDiagonal_[j];
            for (int b = a; b < columnStart_[j + 1]; ++b)
                values_[*target++] -= factor * values_[b];
            values_[a] = factor;
        }
    }
    return true;
}

void SparseLdl::solve(double* x)
{
    const int size = static_cast<int>(order_.size());
    const int *start = columnStart_.data(), *row = row_.data(), *order = order_.data();
    const double *values = values_.data(), *inverse = inverseDiagonal_.data();
    double* work = work_.data();
    for (int i = 0; i < size; ++i)
        work[i] = x[order[i]];
    for (int j = 0; j < size; ++j)
        for (int a = start[j]; a < start[j + 1]; ++a)
            work[row[a]] -= values[a] * work[j];
    for (int j = size - 1; j >= 0; --j) {
        double sum = work[j] * inverse[j];
        for (int a = start[j]; a < start[j + 1]; ++a)
            sum -= values[a] * work[row[a]];
        work[j] = sum;
        x[order[j]] = sum;
    }
}

} // namespace stripwright
