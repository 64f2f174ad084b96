#!/usr/bin/python3
"""A heated plate with a loop of its own, made of pymodbus alone, whose time goes on only when it is told so.

    pymodbus_loop_plate.py PATH     makes PATH a link to one end of a serial line, answers at the other, prints PATH

Unit 3. Holding registers: 0 temperature in 0.1 C, 1 status (2: watchdog has cut the heater), 2 counter of its steps,
3 set-point in 0.1 C (0: no heat), 4 watchdog time in 0.1 s. What it gives its heater it tells nobody.

Standard input, a line each, answered by a line once it is done:

    advance SECONDS     goes on by so much; answers "plate C duty SHARE setpoint C cut 0|1", as they truly are
    silence SECONDS     answers "warmer K" by how much more its body would be at its hottest if nobody asked it anything
                        for so long from now on; nothing happens to it
    lay START_MM        lays a strip on it, whose connector end is so far before the plate's edge; answers "laid"
    figures             answers "capacity J_PER_K loss W gain PER_K integral S", the loss at 150 C

An element heats the body, which loses heat to the air and by radiation; a sensor lags behind the body after a dead
time. The loop is a PI on that sensor, whose integral stands still at the bounds of its output. A strip is a bar of
aluminium that touches the body over the plate's length and loses heat along its whole length.
"""

import asyncio
import collections
import copy
import math
import random
import sys

from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.server.async_io import ModbusSerialServer
from pymodbus.transaction import ModbusRtuFramer

from pymodbus_plate import serial_line

UNIT, STEP_S = 3, 0.05
TEMPERATURE, STATUS, COUNTER, SETPOINT, WATCHDOG = range(5)
AMBIENT_C, ZERO_C_IN_K, STEFAN_BOLTZMANN = 23, 273.15, 5.670374e-8
# The plate
POWER_W, CAPACITY_J_PER_K, LOSS_W_PER_K, RADIATING_M2 = 320, 210, 0.17, 0.008
ELEMENT_LAG_S, SENSOR_LAG_S, DEAD_TIME_S, NOISE_K = 5, 3, 0.8, 0.03
GAIN_PER_K, INTEGRAL_S = 0.015, 120
PLATE_MM = 100
# The strip, 420 x 12 mm: 1 mm of aluminium with its layers, clamped, both faces in still air
STRIP_MM, WIDTH_MM, CELL_MM = 420, 12, 10
CAPACITY_J_PER_M2K, SHEET_W_PER_K, FACES_W_PER_M2K, CONTACT_W_PER_M2K = 2750, 0.15, 18, 1500


def lost_w(body_c):
    """To the air and by radiation."""
    hot_k, cold_k = body_c + ZERO_C_IN_K, AMBIENT_C + ZERO_C_IN_K
    return LOSS_W_PER_K * (hot_k - cold_k) + RADIATING_M2 * STEFAN_BOLTZMANN * (hot_k**4 - cold_k**4)


class Strip:
    """Cells along the strip, the plate under some of them."""

    def __init__(self, start_mm):
        self.cells_c = [AMBIENT_C] * (STRIP_MM // CELL_MM)
        middles_mm = [(i + 0.5) * CELL_MM for i in range(len(self.cells_c))]
        cell_m2 = WIDTH_MM * CELL_MM * 1e-6
        self.contacts_w_per_k = [
            CONTACT_W_PER_M2K * cell_m2 if start_mm < x < start_mm + PLATE_MM else 0 for x in middles_mm
        ]
        self.capacity_j_per_k = CAPACITY_J_PER_M2K * cell_m2
        self.along_w_per_k = SHEET_W_PER_K * WIDTH_MM / CELL_MM
        self.faces_w_per_k = FACES_W_PER_M2K * cell_m2

    def step(self, plate_c):
        """One step; returns the power it takes from the plate."""
        before = self.cells_c
        taken_w = 0
        after = []
        for i, cell_c in enumerate(before):
            from_plate_w = self.contacts_w_per_k[i] * (plate_c - cell_c)
            left_c, right_c = before[max(i - 1, 0)], before[min(i + 1, len(before) - 1)]
            along_w = self.along_w_per_k * (left_c + right_c - 2 * cell_c)
            faces_w = self.faces_w_per_k * (cell_c - AMBIENT_C)
            after.append(cell_c + STEP_S * (from_plate_w + along_w - faces_w) / self.capacity_j_per_k)
            taken_w += from_plate_w
        self.cells_c = after
        return taken_w


class Plate:
    """Heater, body, sensor, loop and watchdog."""

    def __init__(self, registers):
        self.registers = registers
        self.body_c = self.sensor_c = AMBIENT_C
        self.element_w = self.integral = self.duty = self.owed_s = self.silent_s = 0
        self.cut = False
        self.on_its_way_c = collections.deque([AMBIENT_C] * round(DEAD_TIME_S / STEP_S))
        self.strip = None
        self.noise = random.Random(1)

    def setpoint_c(self):
        """As it stands in its register."""
        return self.registers.values[SETPOINT] / 10

    def drive(self):
        """The loop: what the heater gets."""
        setpoint_c = self.setpoint_c()
        if setpoint_c == 0:
            self.cut, self.integral = False, 0
        elif self.silent_s > self.registers.values[WATCHDOG] / 10:
            self.cut = True
        if self.cut or setpoint_c == 0:
            return 0
        error_k = setpoint_c - self.sensor_c
        wanted = GAIN_PER_K * error_k + self.integral
        if not (wanted > 1 and error_k > 0 or wanted < 0 and error_k < 0):
            self.integral += GAIN_PER_K * error_k * STEP_S / INTEGRAL_S
        return min(max(wanted, 0), 1)

    def step(self):
        """Goes on by one step."""
        self.silent_s += STEP_S
        self.duty = self.drive()
        self.element_w += (POWER_W * self.duty - self.element_w) * (1 - math.exp(-STEP_S / ELEMENT_LAG_S))
        away_w = lost_w(self.body_c) + (self.strip.step(self.body_c) if self.strip else 0)
        self.body_c += STEP_S * (self.element_w - away_w) / CAPACITY_J_PER_K
        self.on_its_way_c.append(self.body_c)
        self.sensor_c += (self.on_its_way_c.popleft() - self.sensor_c) * (1 - math.exp(-STEP_S / SENSOR_LAG_S))

    def advance(self, seconds):
        """Goes on by whole steps; what is left over is owed."""
        self.owed_s += seconds
        while self.owed_s > STEP_S / 2:
            self.owed_s -= STEP_S
            self.step()
            self.registers.values[COUNTER] = (self.registers.values[COUNTER] + 1) & 0xFFFF
        shown_c = self.sensor_c + self.noise.gauss(0, NOISE_K)
        self.registers.values[TEMPERATURE] = round(shown_c * 10) & 0xFFFF
        self.registers.values[STATUS] = 2 if self.cut else 0

    def warmer_in_silence(self, seconds):
        """What a copy of itself comes to."""
        other = copy.deepcopy(self)
        hottest_c = other.body_c
        for _ in range(round(seconds / STEP_S)):
            other.step()
            hottest_c = max(hottest_c, other.body_c)
        return hottest_c - self.body_c

    def obey(self, order, *numbers):
        """One line of standard input; returns its answer."""
        if order == "figures":
            return f"capacity {CAPACITY_J_PER_K} loss {lost_w(150):.3f} gain {GAIN_PER_K} integral {INTEGRAL_S}"
        if order == "silence":
            return f"warmer {self.warmer_in_silence(*numbers):.4f}"
        if order == "lay":
            self.strip = Strip(*numbers)
            return "laid"
        self.advance(*numbers)
        return f"plate {self.body_c:.4f} duty {self.duty:.4f} setpoint {self.setpoint_c():.1f} cut {self.cut:d}"


class Registers(ModbusSequentialDataBlock):
    """Registers that tell the plate when they are asked for."""

    plate = None

    def getValues(self, address, count=1):
        self.plate.silent_s = 0
        return super().getValues(address, count)


async def main():
    """Serves until its standard input ends."""
    registers = Registers(0, [AMBIENT_C * 10, 0, 0, 0, 100])
    registers.plate = Plate(registers)
    device = ModbusSlaveContext(hr=registers, zero_mode=True)
    context = ModbusServerContext(slaves={UNIT: device}, single=False)
    server = ModbusSerialServer(
        context, framer=ModbusRtuFramer, port=serial_line(sys.argv[1]), baudrate=115200, ignore_missing_slaves=True
    )
    await server.start()
    serving = asyncio.create_task(server.serve_forever())
    orders = asyncio.StreamReader()
    await asyncio.get_running_loop().connect_read_pipe(lambda: asyncio.StreamReaderProtocol(orders), sys.stdin)
    print(sys.argv[1], flush=True)
    while line := (await orders.readline()).decode():
        order, *numbers = line.split()
        print(registers.plate.obey(order, *map(float, numbers)), flush=True)
    serving.cancel()


if __name__ == "__main__":
    asyncio.run(main())
