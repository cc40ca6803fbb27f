"""What is on the machine: pump, orifice, mixing tube, abrasive, material, plate."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Pump:
    """A high-pressure pump.

    Parameters
    ----------
    name : str
        As written in the shop file.
    nameplate_power : float
        Motor power. [W]
    efficiency : float
        Hydraulic power at the orifice over nameplate power. [-]
    pressure_max : float
        Largest working pressure. [Pa]
    """

    name: str
    nameplate_power: float
    efficiency: float
    pressure_max: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What is cut.

    Parameters
    ----------
    name : str
        As written in the shop file.
    machinability : float
        Machinability number of the separation-speed correlation. [-]
    machinability_log_sd : float
        Standard deviation of its logarithm: how sure the number is. [-]
    density : float
        For the weight of the piece. [kg/m^3]
    brittle : bool
        Whether piercing at full pressure may crack or delaminate it.
    """

    name: str
    machinability: float
    machinability_log_sd: float
    density: float
    brittle: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """Everything the jet's forecast needs to know apart from the path.

    Parameters
    ----------
    pump : Pump
        The pump that feeds the head.
    pressure : float
        At the orifice. [Pa]
    orifice : float
        Orifice bore. [m]
    tube_bore : float
        Mixing tube bore, as it is today. [m]
    abrasive : str
        Name and mesh of the abrasive.
    abrasive_rate : float
        Abrasive mass flow. [kg/s]
    abrasive_factor : float
        Relative cutting power of the abrasive, 1 for garnet. [-]
    grain_size : float
        Median grain size. [m]
    grain_size_max : float
        Size that practically no grain exceeds. [m]
    standoff : float
        Tube exit to plate. [m]
    material : Material
        What is cut.
    thickness : float
        Plate thickness. [m]
    """

    pump: Pump
    pressure: float
    orifice: float
    tube_bore: float
    abrasive: str
    abrasive_rate: float
    abrasive_factor: float
    grain_size: float
    grain_size_max: float
    standoff: float
    material: Material
    thickness: float
