"""The paper: run sheets and handover sheets, as data and as pages."""
